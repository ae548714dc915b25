//! Whether a lesson can be solved, and whether it can be solved without thinking.
//!
//! *Inside*: the strategy that fits everything from the shelf. *Outside*: running it (session), its grade.
//!
//! Swapping everything repairs the fault and relearns nothing: a lesson that this closes teaches that parts are the
//! answer. Codes are cleared at the end, as people who work like that do, and the car is driven until it is warm.

use crate::bench::action::{Action, Key, PartChoice, PartKind, Sensor};
use crate::lesson::deeds;
use crate::link::DiagRequest;
use crate::scenario::{About, Act, ActionFile, Lid, Timing};

/// The acts that fit every part from the shelf, start the engine and clear the codes, for an engine with this number
/// of cylinders and banks.
pub fn swap_everything(cylinders: u8, banks: u8) -> ActionFile {
    let mut kinds: Vec<PartKind> = deeds::single_parts().filter(|k| *k != PartKind::Module).collect();
    for k in 1..=cylinders {
        kinds.extend([
            PartKind::Injector(k),
            PartKind::Coil(k),
            PartKind::Plug(k),
            PartKind::Valves(k),
            PartKind::Rings(k),
        ]);
    }
    kinds.extend((1..=banks).map(PartKind::Exhaust));
    // the crank's and the meter's own parts carry theirs
    let sensors =
        Sensor::ALL.iter().map(|(s, _)| *s).filter(|s| !matches!(s, Sensor::Crank | Sensor::AirMeter));
    kinds.extend(sensors.map(PartKind::Sensor));
    kinds.push(PartKind::Module);

    let mut acts: Vec<Act> = Vec::new();
    let mut add = |after_s: f64, hand: Action, wait_s: f64| {
        let id = format!("swap-{}", acts.len() + 1);
        acts.push(Act::of_no_file(id, Timing::After(after_s), hand, wait_s));
    };
    add(1.0, Action::Key(Key::Off), 0.0);
    add(15.0, Action::Wait, 0.0);
    for kind in kinds {
        add(0.1, Action::Fit(PartChoice::new(kind)), 0.0);
    }
    for _ in 0..2 {
        add(5.0, Action::Key(Key::On), 0.0);
        add(2.0, Action::Ask(DiagRequest::ClearCodes), 0.0);
        add(1.0, Action::Key(Key::Crank), 0.0);
        add(300.0, Action::Key(Key::Off), 0.0);
        add(15.0, Action::Wait, 0.0);
    }
    add(1.0, Action::Key(Key::On), 0.0);
    add(2.0, Action::Key(Key::Crank), 0.0);
    add(60.0, Action::Ask(DiagRequest::ReadCodes), 0.0);
    let about = About {
        id: "swap-everything".into(),
        title: "Every part on the shelf".into(),
        level: 0,
        complaint: String::new(),
        teaches: String::new(),
        lid: Lid::Closed,
        cautions: Vec::new(),
    };
    ActionFile { about, run_s: None, acts, expects: Vec::new(), names: Default::default() }
}
