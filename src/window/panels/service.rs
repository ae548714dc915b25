//! Ask the module: requests over the diagnostic link, routines with their progress, what it answered.

use super::{Front, PanelState, Shown, Wish, ink, sheet, shelf};
use crate::bench::action::Action;
use crate::bench::record::Kind;
use crate::label::BatteryKind;
use crate::link::{DiagRequest, DiagResponse, Failed, FreezeFrame, Group, Routine};
use crate::report;
use crate::words::facts;
use egui::{Context, Ui};

/// What the sheet keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceState {
    /// Which cylinder.
    pub cylinder: u8,
    /// On whose injector a code is printed.
    pub body: u8,
    /// A code that is typed in.
    pub code: String,
    /// An idle speed to ask for \[rpm\].
    pub idle_rpm: f64,
    /// Kind and capacity of a battery to enter \[Ah\].
    pub battery: (BatteryKind, f64),
}

impl Default for ServiceState {
    fn default() -> Self {
        Self {
            cylinder: 1,
            body: 1,
            code: String::new(),
            idle_rpm: 900.0,
            battery: (BatteryKind::Flooded, 60.0),
        }
    }
}

/// The tester has been told to show this, and the module answered: it goes on showing it.
pub fn asked(shown: &Shown<'_>, request: &DiagRequest) -> bool {
    answer_to(shown, request).is_some()
}

/// The last answer to a request, silence not counted, and when \[s\].
pub fn answer_to<'a>(shown: &Shown<'a>, request: &DiagRequest) -> Option<(&'a DiagResponse, f64)> {
    let log = &shown.rows.log;
    log.iter().enumerate().rev().find_map(|(k, e)| {
        let Kind::Answer { id, answer } = &e.kind else { return None };
        if matches!(answer, DiagResponse::Silent | DiagResponse::Refused(_)) {
            return None;
        }
        let act = log[..k].iter().rev().find_map(|a| match &a.kind {
            Kind::Act { id: one, action: Action::Ask(r) } if one == id => Some(r),
            _ => None,
        });
        (act == Some(request)).then_some((answer, e.t_s))
    })
}

/// The freeze frame that was read for a code.
pub fn frame_of(shown: &Shown<'_>, code: &str) -> Option<Option<FreezeFrame>> {
    match answer_to(shown, &DiagRequest::ReadFreezeFrame(code.into()))?.0 {
        DiagResponse::FreezeFrame(f) => Some(*f),
        _ => None,
    }
}

/// A request as a line with its price.
fn request(ui: &mut Ui, shown: &Shown<'_>, state: &PanelState, name: &str, ask: Action) -> Option<Wish> {
    let price = shelf::link_cost(shown.prices, &ask);
    ink::priced(ui, name, &price, false).clicked().then(|| state.act(ask))
}

/// What a routine is called.
pub fn routine_words(r: Routine) -> &'static str {
    match r {
        Routine::ResetGroup(Group::IdleAir) => "Reset idle air",
        Routine::ResetGroup(Group::ClosedStop) => "Reset the closed stop",
        Routine::ResetGroup(Group::LongTrims) => "Reset long-term trims",
        Routine::ResetGroup(Group::CylinderTrims) => "Reset cylinder trims",
        Routine::ResetGroup(Group::ShortPulse) => "Reset short-pulse trims",
        Routine::ResetGroup(Group::WheelTable) => "Reset the wheel table",
        Routine::ResetGroup(Group::InjectorCodes) => "Reset injector codes",
        Routine::LearnIdle => "Learn idle air",
        Routine::LearnClosedStop => "Learn the closed stop",
        Routine::LearnShortPulse => "Learn short pulses",
        Routine::LearnWheel => "Learn the wheel",
        Routine::CutOut(_) => "Cut a cylinder out",
        Routine::CommandIdle(_) => "Ask for an idle speed",
    }
}

/// The module of this car has values whose names begin so.
pub fn holds(shown: &Shown<'_>, start: &str) -> bool {
    shown.view.first.seen.learned.iter().any(|l| l.name.starts_with(start))
}

/// How the routine stands, in words; none where none was started.
pub fn standing(shown: &Shown<'_>) -> Option<(bool, String)> {
    let live = &shown.view.first.seen.live;
    match live.routine.as_str() {
        "running" => Some((
            true,
            match &live.routine_waits_for {
                None => "The routine is under way".into(),
                Some(w) => format!("The routine is under way: {}", facts::waits_for(w)),
            },
        )),
        "done" => Some((false, "The routine ended well".into())),
        "failed" => Some((
            false,
            match live.routine_because {
                None | Some(Failed::Withheld) => "The routine failed".into(),
                Some(why) => format!("The routine failed: {}", facts::failed(why)),
            },
        )),
        _ => None,
    }
}

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "service", "Ask the module", &mut front, 900.0, |ui, _: &mut Front| {
        let mut out = Vec::new();
        ui.columns(2, |c| {
            let plain = egui::Layout::top_down(egui::Align::Min);
            out.extend(c[0].with_layout(plain, |ui| reads(ui, shown, state)).inner);
            out.extend(c[1].with_layout(plain, |ui| routines(ui, shown, state)).inner);
        });
        ui.separator();
        if let Some((runs, words)) = standing(shown) {
            ui.horizontal(|ui| {
                if shown.view.first.seen.live.routine == "failed" {
                    ink::warn(ui, &words);
                } else {
                    ui.label(ink::bold(&words));
                }
                if runs {
                    ui.spinner();
                    if ui.button("Stop it").clicked() {
                        out.push(state.act(Action::Ask(DiagRequest::Stop)));
                    }
                }
            });
        }
        if let Some(said) = &shown.view.said {
            ink::warn(ui, &facts::told(said));
        }
        ink::soft(ui, "It answered last");
        let answers = shown.rows.log.iter().rev().filter(|e| matches!(e.kind, Kind::Answer { .. })).take(4);
        let rows: Vec<_> = answers.collect();
        if rows.is_empty() {
            ui.label("nothing yet");
        }
        for e in rows {
            let at = ink::clock(e.t_s - shown.view.hand_over_s);
            ui.label(format!("{at}  {}", report::entry_words(e, shown.view.lid_open).1));
        }
        out
    });
    state.front = front;
    out
}

fn reads(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.label(ink::bold("Read"));
    let all = [
        ("Codes", DiagRequest::ReadCodes),
        ("Learned values with their gates", DiagRequest::ReadLearned),
        ("Readiness", DiagRequest::ReadReadiness),
        ("Live values", DiagRequest::ReadLive),
    ];
    for (name, ask) in all {
        out.extend(request(ui, shown, state, name, Action::Ask(ask)));
    }
    if asked(shown, &DiagRequest::ReadCodes) {
        for c in &shown.view.first.seen.codes {
            let ask = Action::Ask(DiagRequest::ReadFreezeFrame(c.code.clone()));
            out.extend(request(ui, shown, state, &format!("Freeze frame of {}", c.code), ask));
        }
    }
    ui.add_space(8.0);
    ui.label(ink::bold("Write"));
    let clear = Action::Ask(DiagRequest::ClearCodes);
    out.extend(request(ui, shown, state, "Clear codes", clear));
    ink::soft(ui, "Clears codes, freeze frame and readiness. On some cars more is lost with them.");
    ui.add_space(8.0);
    ui.label(ink::bold("Battery record"));
    let read = Action::Ask(DiagRequest::ReadBatteryRecord);
    out.extend(request(ui, shown, state, "Read the battery record", read));
    if let Some((DiagResponse::BatteryRecord(r), _)) = answer_to(shown, &DiagRequest::ReadBatteryRecord) {
        let (kind, ah) = (r.kind.name(), ink::number(r.rated_ah, 0));
        let (passed, of) = (ink::number(r.passed_ah, 0), ink::number(r.worn_out_ah, 0));
        ink::soft(ui, &format!("it counts on: {kind}, {ah} Ah; {passed} of {of} Ah counted through it"));
    }
    shelf::battery(ui, &mut state.service.battery);
    let (kind, rated_ah) = state.service.battery;
    let name = format!("Enter {}, {} Ah", kind.name(), ink::number(rated_ah, 0));
    let enter = Action::Ask(DiagRequest::EnterBatteryRecord { kind, rated_ah });
    out.extend(request(ui, shown, state, &name, enter));
    ink::soft(ui, "As its label says; no code tells that it was forgotten.");
    if holds(shown, "injector_flow") {
        ui.add_space(8.0);
        ui.label(ink::bold("Injector codes"));
        let most = shown.plate.cylinders;
        let s = &mut state.service;
        pick(ui, "of cylinder", &mut s.cylinder, most);
        pick(ui, "printed on injector", &mut s.body, most);
        let (cylinder, body) = (s.cylinder, s.body);
        ui.add(egui::TextEdit::singleline(&mut s.code).hint_text("or type a code").char_limit(40));
        let code = s.code.trim().to_owned();
        let read = Action::Ask(DiagRequest::ReadInjectorCode(cylinder));
        out.extend(request(ui, shown, state, "Read the stored code", read));
        let copy = Action::CopyInjectorCode { cylinder, body };
        out.extend(request(ui, shown, state, "Enter the printed code", copy));
        if !code.is_empty() {
            let write = Action::Ask(DiagRequest::WriteInjectorCode { cylinder, code });
            out.extend(request(ui, shown, state, "Enter the typed code", write));
        }
    }
    out
}

fn pick(ui: &mut Ui, name: &str, x: &mut u8, most: u8) {
    ui.horizontal_wrapped(|ui| {
        ink::soft(ui, name);
        for k in 1..=most {
            ui.selectable_value(x, k, k.to_string());
        }
    });
}

fn routines(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.label(ink::bold("Start"));
    for (_, r) in Routine::ALL {
        let here = match r {
            Routine::ResetGroup(Group::CylinderTrims) => holds(shown, "cylinder_trim"),
            Routine::ResetGroup(Group::ShortPulse) | Routine::LearnShortPulse => holds(shown, "short_pulse"),
            _ => true,
        };
        if !here {
            continue;
        }
        let ask = Action::Ask(DiagRequest::Start(*r));
        out.extend(request(ui, shown, state, routine_words(*r), ask));
        if *r == Routine::LearnWheel {
            let words =
                "High engine speed: parked, wheels blocked, bonnet closed, people clear; let go at once.";
            shelf::caution(ui, words);
        }
    }
    ui.add_space(8.0);
    pick(ui, "cylinder", &mut state.service.cylinder, shown.plate.cylinders);
    let k = state.service.cylinder;
    let cut = Action::Ask(DiagRequest::Start(Routine::CutOut(k)));
    out.extend(request(ui, shown, state, &format!("Cut cylinder {k} out"), cut));
    ui.horizontal(|ui| {
        ink::soft(ui, "idle at");
        let x = &mut state.service.idle_rpm;
        ui.add(egui::DragValue::new(x).range(500.0..=3000.0).speed(10.0).suffix(" rpm"));
    });
    let rpm = state.service.idle_rpm.round() as u16;
    let idle = Action::Ask(DiagRequest::Start(Routine::CommandIdle(rpm)));
    out.extend(request(ui, shown, state, &format!("Ask for an idle of {rpm} rpm"), idle));
    let own = Action::Ask(DiagRequest::Start(Routine::CommandIdle(0)));
    out.extend(request(ui, shown, state, "The module's own idle speed again", own));
    out
}
