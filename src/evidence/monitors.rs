//! Codes: which circuit sets which, how a code pends, is confirmed and heals, what clearing leaves.

use super::hands::{act, ask, built, code, codes, has_code, mean, off_by, start, stop};
use super::sources::*;
use super::{Case, DUNLIN, EVERY_CAR, PLOVER, Row, Sheet, System::Codes, System::Idle, Trial, row};
use crate::bench::Bench;
use crate::bench::action::{Action, Connector, Gear, Ill, Key, PartChoice, PartKind, Sensor, Wire};
use crate::bench::view::Lamp;
use crate::link::DiagRequest;

const fn right(id: &'static str, source: &'static Source) -> Row {
    row(id, Codes, source, 100.0, 100.0).in_unit("%", 0)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[right("open-circuits", &CODE_NUMBERS)],
        go: open_circuits,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[right("sensor-circuits", &CODE_NUMBERS)],
        go: sensor_circuits,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            right("pends-first", &LAMP_RULE),
            right("confirmed-second", &LAMP_RULE),
            right("lamp-out-third", &LAMP_RULE),
            right("permanent-kept", &LAMP_RULE),
        ],
        go: two_trips,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[right("lean-none-at-idle", &PRACTICE), right("lean-off-idle", &PRACTICE)],
        go: lean,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            right("crank-silent", &CODE_NUMBERS),
            right("crank-sound", &CODE_NUMBERS),
            right("cam-tooth", &CODE_NUMBERS),
        ],
        go: crank_and_cam,
    },
    Trial {
        cars: DUNLIN,
        seeds: true,
        rows: &[
            row("leak-speed", Idle, &PRACTICE, 60.0, 500.0).in_unit("rpm", 0),
            row("leak-trims", super::System::Fuel, &PRACTICE, -4.0, 4.0).in_unit("%", 1),
        ],
        go: leak_by_pressure,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[row("unplugged-alternator", super::System::Battery, &PRACTICE, 11.0, 13.4).in_unit("V", 2)],
        go: unplugged_alternator,
    },
];

fn idling(case: &Case) -> Option<Bench> {
    let mut b = built(&case.setup(90.0))?;
    start(&mut b, 25.0).then_some(b)
}

/// Each connector of an output stage and its number.
fn stages(cylinders: u8, banks: usize) -> Vec<(Connector, String)> {
    let mut all = vec![
        (Connector::PurgeValve, "P0443".to_owned()),
        (Connector::Fan, "P0480".to_owned()),
        (Connector::Alternator, "P0622".to_owned()),
        (Connector::RearOxygenSensor1, "P0141".to_owned()),
    ];
    if banks > 1 {
        all.push((Connector::RearOxygenSensor2, "P0161".to_owned()));
    }
    all.extend((1..=cylinders).map(|k| (Connector::Injector(k), format!("P020{k}"))));
    all.extend((1..=cylinders).map(|k| (Connector::Coil(k), format!("P035{k}"))));
    all
}

/// Each that is pulled sets its own number within seconds and no other of these.
fn open_circuits(case: &Case, sheet: &mut Sheet) {
    let Some(healthy) = idling(case) else { return };
    let all = stages(healthy.cylinders() as u8, healthy.banks());
    let told = |connector: Connector| {
        let mut b = healthy.clone();
        act(&mut b, Action::Connector(connector, false));
        b.advance_by(3.0);
        codes(&b)
    };
    let own = |(connector, number): &&(Connector, String)| {
        let told = told(*connector);
        told.contains(number) && !all.iter().any(|(_, n)| n != number && told.contains(n))
    };
    sheet.put_share("open-circuits", all.iter().filter(own).count(), all.len());
}

/// Each sensor's wire to earth, to supply and open: its own number alone.
fn sensor_circuits(case: &Case, sheet: &mut Sheet) {
    let Some(mut healthy) = idling(case) else { return };
    // until the oxygen sensor is watched too
    healthy.advance_by(40.0);
    let rows = [
        (Sensor::AirMeter, "P0102", "P0103"),
        (Sensor::ManifoldPressure, "P0107", "P0108"),
        (Sensor::Throttle1, "P0122", "P0123"),
        (Sensor::Throttle2, "P0222", "P0223"),
        (Sensor::Pedal, "P2122", "P2123"),
        (Sensor::Coolant, "P0117", "P0118"),
        (Sensor::InletAir, "P0112", "P0113"),
        (Sensor::Oxygen1, "P0131", "P0132"),
    ];
    let mut right = 0;
    for (sensor, low, high) in rows {
        // a resistor to earth reads high where its wire is broken
        let open = if matches!(sensor, Sensor::Coolant | Sensor::InletAir) { high } else { low };
        for (wire, number) in [(Wire::ToEarth, low), (Wire::ToSupply, high), (Wire::Open, open)] {
            let mut b = healthy.clone();
            act(&mut b, Action::Sensor(sensor, Ill { wire, ..Ill::default() }));
            b.advance_by(1.5);
            right += usize::from(codes(&b) == [number]);
        }
    }
    sheet.put_share("sensor-circuits", right, 3 * rows.len());
}

/// The purge valve's plug: off for two trips, then on for four; then cleared as soon as it is confirmed.
fn two_trips(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = idling(case) else { return };
    let number = "P0443";
    let one = |is: bool| usize::from(is);
    act(&mut b, Action::Connector(Connector::PurgeValve, false));
    b.advance_by(3.0);
    sheet.put_share("pends-first", one(code(&b, number) == Some((true, false, false))), 1);
    stop(&mut b);
    start(&mut b, 8.0);
    let on = b.observe().lamp == Lamp::On;
    sheet.put_share("confirmed-second", one(on && code(&b, number) == Some((true, true, true))), 1);
    let mut cleared = b.clone();
    ask(&mut cleared, DiagRequest::ClearCodes);
    act(&mut cleared, Action::Connector(Connector::PurgeValve, true));
    sheet.put_share("permanent-kept", one(code(&cleared, number) == Some((false, false, true))), 1);
    act(&mut b, Action::Connector(Connector::PurgeValve, true));
    let mut lamps = Vec::new();
    for _ in 0..4 {
        stop(&mut b);
        start(&mut b, 10.0);
        lamps.push(b.observe().lamp);
    }
    // the trip in which it was put right is none of the three
    let third = lamps[..3].iter().all(|l| *l == Lamp::On) && lamps[3] == Lamp::Off;
    sheet.put_share("lamp-out-third", one(third), 1);
}

/// A MAF sensor that tells a fifth too little asks for a quarter more: no code at idle, one off it.
fn lean(case: &Case, sheet: &mut Sheet) {
    let mut setup = crate::bench::setup::Setup::healthy(&super::hands::nominal(case.text), 1, 88.0);
    setup.parts = vec![off_by(PartKind::AirMeter, -20.0)];
    let Some(mut b) = built(&setup) else { return };
    start(&mut b, 240.0);
    sheet.put_share("lean-none-at-idle", usize::from(code(&b, "P0171").is_none()), 1);
    act(&mut b, Action::Gear(Gear::Drive));
    act(&mut b, Action::Pedal(16.0));
    let end_s = b.time_s() + 300.0;
    while b.time_s() < end_s && code(&b, "P0171").is_none() {
        b.advance_by(1.0);
    }
    sheet.put_share("lean-off-idle", usize::from(code(&b, "P0171") == Some((true, false, false))), 1);
}

/// No teeth while it is cranked are an open crank sensor, teeth without fuel are none; a cam one tooth out is told either way.
fn crank_and_cam(case: &Case, sheet: &mut Sheet) {
    for (id, away) in [("crank-silent", true), ("crank-sound", false)] {
        let Some(mut b) = built(&case.in_air(20.0, 20.0)) else { return };
        for k in 1..=b.cylinders() as u8 {
            act(&mut b, Action::Connector(Connector::Injector(k), false));
        }
        act(&mut b, Action::Connector(Connector::CrankSensor, !away));
        act(&mut b, Action::Key(Key::On));
        b.advance_by(2.0);
        act(&mut b, Action::Key(Key::Crank));
        b.advance_by(8.0);
        sheet.put_share(id, usize::from(has_code(&b, "P0335") == away), 1);
    }
    let late = [0.0, 1.0, -1.0];
    let mut right = 0;
    for teeth in late {
        let part = PartChoice { teeth_late: Some(teeth), ..PartChoice::new(PartKind::CamDrive) };
        let Some(mut b) = case.warm_with(vec![part]) else { continue };
        b.advance_by(30.0);
        right += usize::from(has_code(&b, "P0016") == (teeth != 0.0));
    }
    sheet.put_share("cam-tooth", right, late.len());
}

/// Unmetered air is not missed by a module that goes by pressure.
fn leak_by_pressure(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.setup(88.0)) else { return };
    start(&mut b, 305.0);
    let both = super::hands::both;
    let before = mean(&mut b, 10.0, both);
    act(&mut b, Action::Leak(6.0));
    b.advance_by(120.0);
    let Some(i) = b.observe().idle else { return };
    sheet.put("leak-speed", i.mean_rpm - i.target_rpm);
    sheet.put("leak-trims", 100.0 * (mean(&mut b, 10.0, both) - before));
}

fn unplugged_alternator(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = idling(case) else { return };
    act(&mut b, Action::Connector(Connector::Alternator, false));
    b.advance_by(30.0);
    sheet.put("unplugged-alternator", b.observe().live.supply_v);
}
