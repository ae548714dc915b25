use idlewright_model::bench::Bench;
use idlewright_model::bench::action::{Action, Key};
use idlewright_model::bench::setup::Setup;
use std::time::Instant;
fn warm(text: &str) -> Bench {
    let setup = Setup::healthy(text, 1, 90.0);
    let mut b = Bench::standing(&setup).unwrap();
    let _ = b.act("", Action::Key(Key::On));
    b.advance_by(2.0);
    let _ = b.act("", Action::Key(Key::Crank));
    b.advance_by(30.0);
    b
}
fn main() {
    let s: f64 = std::env::args().nth(1).map_or(300.0, |a| a.parse().unwrap());
    let only: Option<String> = std::env::args().nth(2);
    for (n, t) in [
        ("plover", include_str!("../../assets/cars/plover.toml")),
        ("dunlin", include_str!("../../assets/cars/dunlin.toml")),
        ("whimbrel", include_str!("../../assets/cars/whimbrel.toml")),
    ] {
        if only.as_deref().is_some_and(|o| !o.starts_with(n)) {
            continue;
        }
        let mut b = warm(t);
        let mut best = f64::MAX;
        for _ in 0..3 {
            let c = Instant::now();
            b.advance_by(s / 3.0);
            best = best.min(c.elapsed().as_secs_f64());
        }
        let idle = s / 3.0 / best;
        if only.as_ref().is_some_and(|o| o.ends_with("idle")) {
            println!("{n} idle {idle:.0} {}", &b.state_hash()[..12]);
            continue;
        }
        let from = b.time_s();
        let c = Instant::now();
        let _ = b.act(
            "",
            Action::Drive {
                pattern: idlewright_model::bench::pattern::Name::Mixed,
                minutes: (s / 60.0).max(10.0),
            },
        );
        while b.driver().is_some() {
            b.advance_by(1.0);
        }
        println!(
            "{n} idle {idle:.0} mixed {:.0} {}",
            (b.time_s() - from) / c.elapsed().as_secs_f64(),
            &b.state_hash()[..12]
        );
    }
}
