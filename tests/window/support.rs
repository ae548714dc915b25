//! A bay to try panels in, and a painter that needs no graphics card.

use crate::bay::jobs;
use egui::epaint::{ImageData, Primitive};
use egui::{Color32, TextureId, TexturesDelta, Vec2};
use egui_kittest::kittest::Queryable;
use egui_kittest::{Harness, TestRenderer};
use idlewright::bench::action::{Action, Key};
use idlewright::bench::view::Observation;
use idlewright::scenario::Scenario;
use idlewright::session::desk::Reach;
use idlewright::session::live::{Live, Order, Rows, View};
use idlewright::session::{Options, Prices, Run};
use idlewright::store;
use idlewright::window::panels::settings::Settings;
use idlewright::window::panels::{self, Nameplate, PanelState, Plays, Shown, Wish};
use idlewright::words::glossary::Word;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// All that the panels are shown, and what they wished.
pub struct Bay {
    pub view: View,
    pub rows: Rows,
    pub scenario: Scenario,
    pub plate: Nameplate,
    pub prices: Prices,
    pub settings: Settings,
    pub words: Vec<Word>,
    pub run: Option<Run>,
    pub healthy: Option<Observation>,
    pub conditioning: Option<f64>,
    pub told: Option<String>,
    pub plays: Plays<'static>,
    pub state: PanelState,
    pub wishes: Vec<Wish>,
    pub engine: Option<egui::Rect>,
}

/// Waits until the car is conditioned, is seen, and looks so.
pub fn wait_for(live: &Live, is: impl Fn(&View) -> bool) {
    jobs::wait_for(live, 600, |v| live.conditioning().is_none() && v.number != 0 && is(v));
}

/// A hand in both futures.
pub fn act(a: Action) -> Order {
    Order::Do(a, Reach::Both)
}

/// The wish for such a hand.
pub fn done(a: Action) -> Vec<Wish> {
    vec![Wish::Order(act(a))]
}

/// Gives orders, lets it run to a time, and takes what is to be seen then.
pub fn bay(name: &str, orders: &[Order], run_s: f64) -> Bay {
    bay_of(jobs::scenario(name), orders, run_s)
}

/// The same of a scenario's own.
pub fn bay_of(scenario: Scenario, orders: &[Order], run_s: f64) -> Bay {
    let live = Live::start(scenario.clone(), Options::default(), || ());
    wait_for(&live, |_| true);
    for o in orders {
        assert!(live.order(o.clone()));
    }
    let to = live.view().hand_over_s + run_s;
    assert!(live.order(Order::To(to)));
    wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s + 1e-6 >= to);
    shown(scenario, &live)
}

/// A bench with its key on and its engine off, which asks something before it does what was ordered; its time stands.
pub fn asked(name: &str, order: &Order) -> Bay {
    let scenario = jobs::scenario(name);
    let live = Live::start(scenario.clone(), Options::default(), || ());
    wait_for(&live, |_| true);
    for (turn, then_s) in [(Key::Off, 13.0), (Key::On, 2.0)] {
        assert!(live.order(act(Action::Key(turn))));
        let to = live.view().time_s + then_s;
        assert!(live.order(Order::To(to)));
        wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s + 1e-6 >= to);
    }
    assert!(live.order(order.clone()));
    wait_for(&live, |v| !v.questions.is_empty());
    shown(scenario, &live)
}

/// What is to be seen now.
fn shown(scenario: Scenario, live: &Live) -> Bay {
    let mut rows = Rows::default();
    live.take(&mut rows);
    let settings = Settings { cautions_read: true, ..Settings::default() };
    Bay {
        view: live.view(),
        rows,
        plate: Nameplate::of(&scenario),
        scenario,
        prices: Prices::shipped().expect("prices"),
        state: PanelState { cautioned: true, ..PanelState::new(&settings) },
        settings,
        words: idlewright::words::glossary::glossary(store::GLOSSARY).expect("glossary"),
        run: None,
        healthy: None,
        conditioning: None,
        told: None,
        plays: Plays::Not,
        wishes: Vec::new(),
        engine: None,
    }
}

impl Bay {
    /// The same view again: nobody waits for the bench in most tests.
    pub fn like(other: &Bay) -> Bay {
        Bay {
            view: other.view.clone(),
            rows: other.rows.clone(),
            scenario: other.scenario.clone(),
            plate: other.plate.clone(),
            prices: other.prices.clone(),
            settings: other.settings,
            words: other.words.clone(),
            run: other.run.clone(),
            healthy: other.healthy.clone(),
            conditioning: None,
            told: None,
            plays: Plays::Not,
            state: PanelState { cautioned: true, ..PanelState::new(&other.settings) },
            wishes: Vec::new(),
            engine: None,
        }
    }

    fn show(&mut self, ui: &mut egui::Ui) {
        let shown = Shown {
            view: &self.view,
            rows: &self.rows,
            scenario: &self.scenario,
            plate: &self.plate,
            prices: &self.prices,
            settings: &self.settings,
            words: &self.words,
            run: self.run.as_ref(),
            healthy: self.healthy.as_ref(),
            conditioning: self.conditioning,
            told: self.told.as_deref(),
            plays: self.plays,
        };
        let out = panels::all(ui, &shown, &mut self.state);
        self.wishes.extend(out.wishes);
        self.engine = out.engine;
    }
}

/// What panels are shown of a bay.
pub fn shown_of(b: &Bay) -> Shown<'_> {
    Shown {
        view: &b.view,
        rows: &b.rows,
        scenario: &b.scenario,
        plate: &b.plate,
        prices: &b.prices,
        settings: &b.settings,
        words: &b.words,
        run: b.run.as_ref(),
        healthy: b.healthy.as_ref(),
        conditioning: b.conditioning,
        told: b.told.as_deref(),
        plays: b.plays,
    }
}

/// Presses what is called so, as a hand would that does not see it yet; what was wished then.
pub fn click(p: &mut Pane, label: &str) -> Vec<Wish> {
    p.h.get_by_label(label).scroll_to_me();
    p.h.run_steps(12);
    p.h.get_by_label(label).click();
    p.settle()
}

/// Presses a key; what was wished then.
pub fn press(p: &mut Pane, key: egui::Key) -> Vec<Wish> {
    p.h.key_press(key);
    p.settle()
}

/// Words are there, wherever they stand.
pub fn has(p: &Pane, words: &str) -> bool {
    p.h.query_all_by_label_contains(words).next().is_some()
}

/// A window without a window.
pub struct Pane {
    pub h: Harness<'static, Bay>,
    textures: Arc<Mutex<Textures>>,
}

pub fn pane(bay: Bay) -> Pane {
    pane_of(bay, Vec2::new(1600.0, 900.0))
}

pub fn pane_of(bay: Bay, size: Vec2) -> Pane {
    let textures = Arc::new(Mutex::new(Textures::default()));
    let scale = bay.settings.scale();
    let mut h = Harness::builder()
        .with_size(size / scale)
        .with_pixels_per_point(scale)
        .with_max_steps(12)
        .renderer(Keeps(Arc::clone(&textures)))
        .build_ui_state(|ui, bay: &mut Bay| bay.show(ui), bay);
    h.run_steps(3);
    Pane { h, textures }
}

impl Pane {
    /// A few rounds; what was wished on the way.
    pub fn settle(&mut self) -> Vec<Wish> {
        self.h.run_steps(3);
        std::mem::take(&mut self.h.state_mut().wishes)
    }

    /// Paints what is shown into a file, where `IDLEWRIGHT_PICTURES` names a folder.
    #[expect(clippy::disallowed_methods, reason = "pictures are looked at by people")]
    pub fn picture(&self, name: &str) {
        let Some(dir) = std::env::var_os("IDLEWRIGHT_PICTURES") else { return };
        let scale = self.h.ctx.pixels_per_point();
        let size = self.h.ctx.content_rect().size() * scale;
        let (w, t) = (size.x.round() as usize, size.y.round() as usize);
        let mut image = vec![[0.0_f32; 3]; w * t];
        let primitives = self.h.ctx.tessellate(self.h.output().shapes.clone(), scale);
        let textures = self.textures.lock().expect("whole");
        for p in primitives {
            let Primitive::Mesh(mesh) = &p.primitive else { continue };
            let Some(texture) = textures.0.get(&key(mesh.texture_id)) else { continue };
            let clip = p.clip_rect * scale;
            for k in mesh.indices.chunks_exact(3) {
                let v = [0, 1, 2].map(|i| mesh.vertices[k[i] as usize]);
                triangle(
                    &mut image,
                    (w, t),
                    &v.map(|v| (v.pos.to_vec2() * scale, v.uv, v.color)),
                    clip,
                    texture,
                );
            }
        }
        let mut out = format!("P6 {w} {t} 255\n").into_bytes();
        out.extend(image.iter().flatten().map(|c| c.round().clamp(0.0, 255.0) as u8));
        std::fs::write(std::path::Path::new(&dir).join(format!("{name}.ppm")), out)
            .expect("a folder for pictures");
    }
}

fn key(id: TextureId) -> (bool, u64) {
    match id {
        TextureId::Managed(k) => (false, k),
        TextureId::User(k) => (true, k),
    }
}

#[derive(Default)]
pub struct Textures(BTreeMap<(bool, u64), Texture>);

struct Texture {
    size: [usize; 2],
    pixels: Vec<Color32>,
}

struct Keeps(Arc<Mutex<Textures>>);

impl TestRenderer for Keeps {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        let mut all = self.0.lock().expect("whole");
        for (id, deltas) in &delta.set {
            for d in deltas {
                let ImageData::Color(image) = &d.image;
                let whole = Texture { size: image.size, pixels: image.pixels.clone() };
                match (d.pos, all.0.get_mut(&key(*id))) {
                    (Some([x, y]), Some(t)) => {
                        for row in 0..image.size[1] {
                            let to = (y + row) * t.size[0] + x;
                            let from = row * image.size[0];
                            t.pixels[to..to + image.size[0]]
                                .copy_from_slice(&image.pixels[from..from + image.size[0]]);
                        }
                    }
                    _ => {
                        all.0.insert(key(*id), whole);
                    }
                }
            }
        }
        delta.clear();
    }
}

type Corner = (Vec2, egui::Pos2, Color32);

fn triangle(
    image: &mut [[f32; 3]],
    size: (usize, usize),
    v: &[Corner; 3],
    clip: egui::Rect,
    texture: &Texture,
) {
    let cross = |a: Vec2, b: Vec2| a.x * b.y - a.y * b.x;
    let area = cross(v[1].0 - v[0].0, v[2].0 - v[0].0);
    if area.abs() < 1e-9 {
        return;
    }
    let low = |f: fn(Vec2) -> f32| v.iter().map(|c| f(c.0)).fold(f32::INFINITY, f32::min);
    let high = |f: fn(Vec2) -> f32| v.iter().map(|c| f(c.0)).fold(f32::NEG_INFINITY, f32::max);
    let x0 = low(|p| p.x).max(clip.left()).max(0.0).floor() as usize;
    let x1 = (high(|p| p.x).min(clip.right()).ceil().max(0.0) as usize).min(size.0);
    let y0 = low(|p| p.y).max(clip.top()).max(0.0).floor() as usize;
    let y1 = (high(|p| p.y).min(clip.bottom()).ceil().max(0.0) as usize).min(size.1);
    for y in y0..y1 {
        for x in x0..x1 {
            let p = Vec2::new(x as f32 + 0.5, y as f32 + 0.5);
            if !clip.contains(p.to_pos2()) {
                continue;
            }
            let w = [
                cross(v[1].0 - p, v[2].0 - p) / area,
                cross(v[2].0 - p, v[0].0 - p) / area,
                cross(v[0].0 - p, v[1].0 - p) / area,
            ];
            // the edge between two triangles belongs to one of them
            if w.iter().any(|w| *w < -1e-6) {
                continue;
            }
            let uv = w.iter().zip(v).fold(Vec2::ZERO, |s, (w, c)| s + *w * c.1.to_vec2());
            let tx = ((uv.x * texture.size[0] as f32) as usize).min(texture.size[0] - 1);
            let ty = ((uv.y * texture.size[1] as f32) as usize).min(texture.size[1] - 1);
            let tex = texture.pixels[ty * texture.size[0] + tx].to_array().map(|c| f32::from(c) / 255.0);
            let tint = w.iter().zip(v).fold([0.0_f32; 4], |mut s, (w, c)| {
                for (s, c) in s.iter_mut().zip(c.2.to_array()) {
                    *s += w * f32::from(c);
                }
                s
            });
            let alpha = tex[3] * tint[3] / 255.0;
            let to = &mut image[y * size.0 + x];
            for k in 0..3 {
                to[k] = tex[k] * tint[k] + to[k] * (1.0 - alpha);
            }
        }
    }
}
