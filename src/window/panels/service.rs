//! Ask the module: requests over the diagnostic link, routines with their progress, the module's answers.

use super::{Front, PanelState, Shown, Wish, sheet, shelf, style};
use crate::bench::action::Action;
use crate::bench::record::Kind;
use crate::label::BatteryKind;
use crate::link::{CodeStatus, DiagRequest, DiagResponse, Failed, FreezeFrame, Routine};
use crate::report;
use crate::words::facts;
use crate::words::numbers::{clock, number};
use crate::words::{name, say, upper_first};
use egui::{Context, ScrollArea, Ui};

/// State of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceState {
    /// Which cylinder.
    pub cylinder: u8,
    /// The injector on whose body the code is printed.
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

/// True once the tester asked for this and the module answered: from then on the data stays on display.
pub fn asked(shown: &Shown<'_>, request: &DiagRequest) -> bool {
    answer_to(shown, request).is_some()
}

/// The last answer to a request, silence and refusals not counted, and when it came \[s\].
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

/// Codes as the tester last read them, and when \[s\]; none if they were never read, or were erased since. The module
/// may store others in the meantime: they are shown only after another reading.
pub fn codes_read<'a>(shown: &Shown<'a>) -> Option<(&'a [CodeStatus], f64)> {
    let Some((DiagResponse::Codes(all), at_s)) = answer_to(shown, &DiagRequest::ReadCodes) else {
        return None;
    };
    let erased = answer_to(shown, &DiagRequest::ClearCodes).is_some_and(|(_, s)| s >= at_s);
    (!erased).then_some((all.as_slice(), at_s))
}

/// The freeze frame that was read for a code.
pub fn frame_of(shown: &Shown<'_>, code: &str) -> Option<Option<FreezeFrame>> {
    match answer_to(shown, &DiagRequest::ReadFreezeFrame(code.into()))?.0 {
        DiagResponse::FreezeFrame(f) => Some(*f),
        _ => None,
    }
}

/// A request as a line with its price.
fn request(ui: &mut Ui, shown: &Shown<'_>, state: &PanelState, called: &str, ask: Action) -> Option<Wish> {
    let price = report::cost_words(shown.prices, shown.prices.of(&ask));
    style::part(ui, called, |ui| {
        let pressed = style::priced(ui, called, &price, false).clicked();
        shelf::cautions(ui, &ask);
        pressed.then(|| state.act(ask))
    })
}

/// True when this car's module has learned values whose names begin with `start`.
pub fn holds(shown: &Shown<'_>, start: &str) -> bool {
    shown.view.first.seen.learned.iter().any(|l| l.name.starts_with(start))
}

/// The state of a routine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// It is under way.
    Runs,
    /// It ended well.
    Done,
    /// It failed.
    Failed,
}

/// The state of the routine, and the same in words; none if no routine was started.
pub fn standing(shown: &Shown<'_>) -> Option<(Stands, String)> {
    let live = &shown.view.first.seen.live;
    match live.routine.as_str() {
        "running" => Some((
            Stands::Runs,
            match &live.routine_waits_for {
                None => say("asking-runs"),
                Some(w) => say!("asking-runs-says", says = facts::waits_for(w)),
            },
        )),
        "done" => Some((Stands::Done, say("asking-done"))),
        "failed" => Some((
            Stands::Failed,
            match live.routine_because {
                None | Some(Failed::Withheld) => say("asking-failed"),
                Some(why) => say!("asking-failed-says", says = facts::failed(why)),
            },
        )),
        _ => None,
    }
}

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "service", &say("asking-title"), &mut front, 900.0, |ui, _: &mut Front| {
        let mut out = Vec::new();
        style::part(ui, "answer", |ui| out.extend(answer(ui, shown, state)));
        ui.separator();
        ui.columns(2, |c| {
            let plain = egui::Layout::top_down(egui::Align::Min);
            out.extend(c[0].with_layout(plain, |ui| reads(ui, shown, state)).inner);
            out.extend(c[1].with_layout(plain, |ui| routines(ui, shown, state)).inner);
        });
        out
    });
    state.front = front;
    out
}

/// The height of the module's last answer before it scrolls \[points\].
const ANSWER_TALL: f32 = 170.0;

/// What the module answered last, and the routine that runs: above the services, where they are looked for once a
/// button was pressed.
fn answer(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let mut wish = None;
    if let Some((stands, words)) = standing(shown) {
        ui.horizontal_wrapped(|ui| {
            if stands == Stands::Failed {
                style::warn(ui, &words);
            } else {
                ui.label(style::bold(&words));
            }
            if stands == Stands::Runs {
                ui.spinner();
                if ui.button(say("asking-stop")).clicked() {
                    wish = Some(state.act(Action::Ask(DiagRequest::Stop)));
                }
            }
        });
    }
    if let Some(said) = &shown.view.said {
        style::warn(ui, &facts::told(said));
    }
    style::soft(ui, &say("asking-answered"));
    let last = shown.rows.log.iter().rev().find_map(|e| match &e.kind {
        Kind::Answer { answer, .. } => Some((e.t_s, answer)),
        _ => None,
    });
    let Some((t_s, answer)) = last else {
        ui.label(say("asking-nothing-yet"));
        return wish;
    };
    let at = clock(t_s - shown.view.hand_over_s);
    let told = report::answered(answer);
    ScrollArea::vertical().id_salt("last answer").max_height(ANSWER_TALL).show(ui, |ui| {
        match &told.head {
            Some(head) => ui.label(style::bold(&say!("window-at", time = at.as_str(), what = head.as_str()))),
            None => ui.label(say!("window-at", time = at.as_str(), what = told.items.join(" "))),
        };
        let list = if told.head.is_some() { told.items.as_slice() } else { &[] };
        // side by side where they are many, as on a printed list
        ui.columns(2, |c| {
            for (k, item) in list.iter().enumerate() {
                c[if k < list.len().div_ceil(2) { 0 } else { 1 }].add(egui::Label::new(item).wrap());
            }
        });
    });
    wish
}

fn reads(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.label(style::bold(&say("asking-read")));
    use DiagRequest::{ReadCodes, ReadLearned, ReadLive, ReadReadiness};
    for ask in [ReadCodes, ReadLearned, ReadReadiness, ReadLive] {
        out.extend(request(ui, shown, state, &service(ask.name()), Action::Ask(ask)));
    }
    if let Some((codes, _)) = codes_read(shown) {
        for c in codes {
            let ask = Action::Ask(DiagRequest::ReadFreezeFrame(c.code.clone()));
            out.extend(request(ui, shown, state, &say!("asking-frame", code = c.code.as_str()), ask));
        }
    }
    ui.add_space(8.0);
    ui.label(style::bold(&say("asking-write")));
    let clear = Action::Ask(DiagRequest::ClearCodes);
    out.extend(request(ui, shown, state, &service("clear_codes"), clear));
    style::soft(ui, &say("asking-clear-mind"));
    let restart = Action::Ask(DiagRequest::Restart);
    out.extend(request(ui, shown, state, &service("restart"), restart));
    out.extend(style::part(ui, "battery record", |ui| battery_record(ui, shown, state)));
    if holds(shown, "injector_flow") {
        out.extend(style::part(ui, "injector codes", |ui| injector_codes(ui, shown, state)));
    }
    out
}

/// The name of a request or a routine on its line.
fn service(id: &str) -> String {
    upper_first(&name("service", id))
}

fn battery_record(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.add_space(8.0);
    ui.label(style::bold(&say("asking-battery")));
    let read = Action::Ask(DiagRequest::ReadBatteryRecord);
    out.extend(request(ui, shown, state, &service("read_battery_record"), read));
    if let Some((DiagResponse::BatteryRecord(r), _)) = answer_to(shown, &DiagRequest::ReadBatteryRecord) {
        let words = say!(
            "asking-battery-counts-on",
            kind = name("battery", r.kind.name()),
            rated = number(r.rated_ah, 0),
            passed = number(r.passed_ah, 0),
            of = number(r.worn_out_ah, 0)
        );
        style::soft(ui, &words);
    }
    shelf::battery(ui, &mut state.service.battery);
    let (kind, rated_ah) = state.service.battery;
    let called =
        say!("asking-battery-enter", kind = name("battery", kind.name()), rated = number(rated_ah, 0));
    let enter = Action::Ask(DiagRequest::EnterBatteryRecord { kind, rated_ah });
    out.extend(request(ui, shown, state, &called, enter));
    style::soft(ui, &say("asking-battery-label"));
    out
}

fn injector_codes(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.add_space(8.0);
    ui.label(style::bold(&say("asking-injectors")));
    let most = shown.plate.has.cylinders;
    let s = &mut state.service;
    shelf::count(ui, &say("asking-of-cylinder"), &mut s.cylinder, most);
    shelf::count(ui, &say("asking-printed-on"), &mut s.body, most);
    let (cylinder, body) = (s.cylinder, s.body);
    ui.add(egui::TextEdit::singleline(&mut s.code).hint_text(say("asking-type-a-code")).char_limit(40));
    let code = s.code.trim().to_owned();
    let read = Action::Ask(DiagRequest::ReadInjectorCode(cylinder));
    out.extend(request(ui, shown, state, &service("read_injector_code"), read));
    let copy = Action::CopyInjectorCode { cylinder, body };
    out.extend(request(ui, shown, state, &say("asking-enter-printed"), copy));
    if !code.is_empty() {
        let write = Action::Ask(DiagRequest::WriteInjectorCode { cylinder, code });
        out.extend(request(ui, shown, state, &say("asking-enter-typed"), write));
    }
    out
}

fn routines(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.label(style::bold(&say("asking-start")));
    for (_, r) in Routine::ALL {
        if r.is_for().is_some_and(|name| !holds(shown, name)) {
            continue;
        }
        let ask = Action::Ask(DiagRequest::Start(*r));
        out.extend(request(ui, shown, state, &service(r.name()), ask));
    }
    ui.add_space(8.0);
    shelf::count(ui, &say("shelf-cylinder"), &mut state.service.cylinder, shown.plate.has.cylinders);
    let k = state.service.cylinder;
    let cut = Action::Ask(DiagRequest::Start(Routine::CutOut(k)));
    out.extend(request(ui, shown, state, &say!("asking-cut-out", cylinder = k), cut));
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, &say("asking-idle-at"));
        let x = &mut state.service.idle_rpm;
        ui.add(egui::DragValue::new(x).range(500.0..=3000.0).speed(10.0).suffix(" rpm"));
    });
    let rpm = state.service.idle_rpm.round() as u16;
    let idle = Action::Ask(DiagRequest::Start(Routine::CommandIdle(rpm)));
    out.extend(request(ui, shown, state, &say!("asking-idle", rpm = rpm.to_string()), idle));
    let own = Action::Ask(DiagRequest::Start(Routine::CommandIdle(0)));
    out.extend(request(ui, shown, state, &say("asking-own-idle"), own));
    out
}
