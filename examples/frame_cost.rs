//! CPU time of one frame of the window's panels at 1600×900: laid out, written, cut into triangles. What a
//! graphics card does is left out, and so is the engine's own drawing.
//!
//! `cargo run --release --example frame_cost [FRAMES]`

use cpu_time::ThreadTime;
use egui::{Context, RawInput, Rect, pos2, vec2};
use idlewright::bench::action::{Action, Load};
use idlewright::scenario;
use idlewright::session::desk::Reach;
use idlewright::session::live::{Live, Order, Rows};
use idlewright::session::{Options, Prices};
use idlewright::store;
use idlewright::window::panels::settings::Settings;
use idlewright::window::panels::{self, Front, Middle, Nameplate, PanelState, Plays, Shown};
use idlewright::words::glossary::glossary;

/// Seconds of traces that are drawn, in two futures.
const TRACED_S: f64 = 120.0;

fn main() -> Result<(), String> {
    let frames: usize = match std::env::args().nth(1) {
        Some(n) => n.parse().map_err(|_| format!("`{n}` is no number of frames"))?,
        None => 600,
    };
    let shipped = store::shipped("idles-high").ok_or("idles-high ships")?;
    let mut car = |name: &str| store::car_text(name, None);
    let scenario =
        scenario::parse_scenario(shipped.text, shipped.id, &mut car).map_err(|e| format!("{e:?}"))?;
    let live = Live::start(scenario.clone(), Options::default(), || ());
    // both futures with their marks, under an open lid: the most there is to draw
    let _ = live.order(Order::Lid(true));
    let _ = live.order(Order::Fork);
    let _ = live.order(Order::Do(Action::Load(Load::Compressor, true), Reach::Second));
    let began = loop {
        let v = live.view();
        if v.number > 0 {
            break v.hand_over_s;
        }
        if let Some(why) = live.trouble() {
            return Err(format!("{why:?}"));
        }
        std::thread::yield_now();
    };
    let _ = live.order(Order::To(began + TRACED_S));
    while live.view().time_s + 1e-6 < began + TRACED_S {
        std::thread::yield_now();
    }
    let mut rows = Rows::default();
    live.take(&mut rows);
    let view = live.view();

    let settings = Settings::default();
    let prices = Prices::shipped()?;
    let words = glossary(store::GLOSSARY)?;
    let plate = Nameplate::of(&scenario);
    let ctx = Context::default();
    println!("CPU time of one frame of all panels, 1600×900, median, mean and worst of {frames}:");
    for (middle, name) in [
        (Middle::Engine, "engine (its drawing left out)"),
        (Middle::Readings, "traces"),
        (Middle::Wheel, "wheel"),
        (Middle::Strip, "cylinders"),
    ] {
        let mut state = PanelState::new(&settings);
        state.front = Front::None;
        state.cautioned = true;
        state.middle = middle;
        let mut spent_ms = Vec::with_capacity(frames);
        for k in 0..frames + 20 {
            let shown = Shown {
                view: &view,
                rows: &rows,
                scenario: &scenario,
                plate: &plate,
                prices: &prices,
                settings: &settings,
                words: &words,
                run: None,
                conditioning: None,
                healthy: None,
                told: None,
                plays: Plays::Not,
            };
            let input = RawInput {
                screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), vec2(1600.0, 900.0))),
                time: Some(k as f64 / 60.0),
                ..RawInput::default()
            };
            let clock = ThreadTime::now();
            ctx.begin_pass(input);
            let mut root = panels::root(&ctx);
            let _ = panels::all(&mut root, &shown, &mut state);
            let mut out = ctx.end_pass();
            let _ = ctx.tessellate(out.shapes, out.pixels_per_point);
            let ms = clock.elapsed().as_secs_f64() * 1e3;
            // what a card would take
            out.textures_delta.clear();
            // the first frames make the type
            if k >= 20 {
                spent_ms.push(ms);
            }
        }
        spent_ms.sort_by(f64::total_cmp);
        let mean = spent_ms.iter().sum::<f64>() / frames.max(1) as f64;
        let at = |share: f64| spent_ms.get((share * frames as f64) as usize).copied().unwrap_or_default();
        let worst = spent_ms.last().copied().unwrap_or_default();
        println!("  {name:<32} {:6.2} ms   mean {mean:6.2} ms   worst {worst:6.2} ms", at(0.5));
    }
    Ok(())
}
