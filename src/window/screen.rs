//! The contents of the screen, as lines of text in a file: for anybody who scripts or tries out the window.
//!
//! *Inside*: each thing that is shown, with its words, its position and its state, as a screen reader would receive
//! it; time and pace. *Outside*: what the things are (panels), drawing, and input, which remains that of a pointer
//! and a keyboard.
//!
//! Only what is drawn is listed, so a closed lid hides the same here as on the screen. The file is written under
//! another name and then renamed, so that nobody reads half a file. A line is a list of tab-separated words; the
//! first word names its kind:
//!
//! ```text
//! frame      frames drawn so far
//! time       simulated time since hand-over [s]; `-` before
//! pace       pause | slow | ×1, ×10, … | flat out
//! runs_to    where it runs on to [s since hand-over]; `-` when it does not
//! engine     drawn | waiting
//! thing      role | words | value | left | top | right | bottom | state
//! ```
//!
//! Things are listed in the order in which Tab goes through them. Positions are in pixels of the window; for a thing
//! that is scrolled out of its panel, the position is where it would be. The state is a list of words separated by
//! commas: `press` (a hand can do something with it), `focus` (it has the keyboard focus), `on`, `off`, `disabled`,
//! `hidden` (scrolled away), `behind` (a sheet is in front of it).

use crate::session::live::{Pace, View};
use egui::accesskit::{Node, NodeId, Role, Toggled, TreeUpdate};
use egui::{Context, Id, LayerId, Rect};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The file, and the number of frames written.
#[derive(Debug)]
pub struct Screen {
    file: PathBuf,
    frame: u64,
}

/// A widget where it is drawn: its whole area and the visible part of it.
struct Place {
    layer: LayerId,
    rect: Rect,
    seen: Rect,
    press: bool,
}

impl Screen {
    /// Writes to this file.
    pub fn new(file: PathBuf) -> Self {
        Self { file, frame: 0 }
    }

    /// Writes the present contents of the screen; an error says why it could not.
    pub fn write(
        &mut self,
        ctx: &Context,
        tree: &TreeUpdate,
        view: &View,
        engine_drawn: bool,
    ) -> Result<(), String> {
        self.frame += 1;
        let mut out = format!("frame\t{}\n", self.frame);
        head(&mut out, view, engine_drawn);
        things(&mut out, ctx, tree);
        put(&self.file, &out).map_err(|e| format!("{}: {e}", self.file.display()))
    }
}

#[expect(clippy::disallowed_methods, reason = "the file that was asked for, beside and moved")]
fn put(file: &Path, text: &str) -> std::io::Result<()> {
    let beside = file.with_extension("part");
    std::fs::write(&beside, text)?;
    std::fs::rename(&beside, file)
}

fn head(out: &mut String, view: &View, engine_drawn: bool) {
    let since = |s: f64| format!("{:.3}", s - view.hand_over_s);
    let time = if view.number > 0 { since(view.time_s) } else { "-".into() };
    let pace = pace_id(view.pace);
    let runs_to = view.runs_to_s.map_or_else(|| "-".into(), since);
    let engine = if engine_drawn { "drawn" } else { "waiting" };
    let _ = write!(out, "time\t{time}\npace\t{pace}\nruns_to\t{runs_to}\nengine\t{engine}\n");
}

/// The id of a pace for scripts, the same in every language.
fn pace_id(pace: Pace) -> String {
    match pace {
        Pace::Paused => "pause".into(),
        _ if pace == Pace::SLOW => "slow".into(),
        Pace::Times(x) => format!("×{x}"),
        Pace::Flat => "flat out".into(),
    }
}

fn things(out: &mut String, ctx: &Context, tree: &TreeUpdate) {
    let nodes: BTreeMap<NodeId, &Node> = tree.nodes.iter().map(|(id, n)| (*id, n)).collect();
    let places: BTreeMap<NodeId, Place> = ctx.viewport(|v| {
        let all = v.prev_pass.widgets.layers().flat_map(|(_, all)| all.iter());
        let place = |layer, rect, seen, press| Place { layer, rect, seen, press };
        all.map(|w| {
            let press = w.enabled && w.sense.is_focusable();
            (w.id.accesskit_id(), place(w.layer_id, w.rect, w.interact_rect, press))
        })
        .collect()
    });
    let Some(root) = tree.tree.as_ref().map(|t| t.root) else { return };
    let scale = ctx.pixels_per_point();
    // depth first, in the order in which things were laid out
    let mut next = vec![root];
    while let Some(id) = next.pop() {
        let Some(node) = nodes.get(&id) else { continue };
        next.extend(node.children().iter().rev());
        if let Some(place) = places.get(&id) {
            thing(out, ctx, &nodes, (id, node), place, tree.focus, scale);
        }
    }
}

fn thing(
    out: &mut String,
    ctx: &Context,
    nodes: &BTreeMap<NodeId, &Node>,
    (id, node): (NodeId, &Node),
    place: &Place,
    focus: NodeId,
    scale: f32,
) {
    let (words, value) = said(nodes, node);
    if matches!(node.role(), Role::TextRun) || (words.is_empty() && value.is_empty() && !place.press) {
        return;
    }
    let hidden = !place.seen.is_positive() || place.seen.width() < 1.0 || place.seen.height() < 1.0;
    let r = if hidden { place.rect } else { place.seen } * scale;
    let mut state: Vec<&str> = Vec::new();
    let mut add = |is: bool, word: &'static str| {
        if is {
            state.push(word);
        }
    };
    add(place.press, "press");
    add(id == focus, "focus");
    add(node.toggled() == Some(Toggled::True), "on");
    add(node.toggled() == Some(Toggled::False), "off");
    add(node.is_disabled(), "disabled");
    add(hidden, "hidden");
    add(!hidden && is_behind(ctx, place), "behind");
    let _ = writeln!(
        out,
        "thing\t{:?}\t{}\t{}\t{:.0}\t{:.0}\t{:.0}\t{:.0}\t{}",
        node.role(),
        one_line(&words),
        one_line(&value),
        r.left(),
        r.top(),
        r.right(),
        r.bottom(),
        state.join(",")
    );
}

/// The name of a thing, and its value.
fn said(nodes: &BTreeMap<NodeId, &Node>, node: &Node) -> (String, String) {
    let own = node.label().unwrap_or_default();
    let value = node.value().unwrap_or_default();
    if node.role() == Role::Label {
        return (if own.is_empty() { value } else { own }.to_owned(), String::new());
    }
    let beside = || {
        let by = node.labelled_by().iter().filter_map(|id| nodes.get(id));
        by.filter_map(|n| n.value().or(n.label())).collect::<Vec<_>>().join(" ")
    };
    let words = match own {
        "" => match beside() {
            none if none.is_empty() => node.placeholder().unwrap_or_default().to_owned(),
            words => words,
        },
        own => own.to_owned(),
    };
    let number = || node.numeric_value().map_or_else(String::new, |x| x.to_string());
    (words, if value.is_empty() { number() } else { value.to_owned() })
}

/// True when a sheet, or anything else that floats, is in front of the thing's middle.
fn is_behind(ctx: &Context, place: &Place) -> bool {
    ctx.layer_id_at(place.seen.center()).unwrap_or_else(LayerId::background) != place.layer
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Scrolls the widget that has received the keyboard focus into view: a person who moves by Tab cannot scroll with a
/// pointer.
pub fn show_focus(ctx: &Context, shown: &mut Option<Id>) {
    use egui::accesskit::{Action, ActionRequest, TreeId};
    let focus = ctx.memory(|m| m.focused());
    if *shown == focus {
        return;
    }
    *shown = focus;
    let Some(id) = focus else { return };
    let cut = ctx.viewport(|v| {
        let place = v.prev_pass.widgets.get(id);
        place.is_some_and(|w| !w.interact_rect.expand(1.0).contains_rect(w.rect))
    });
    if cut {
        let request = ActionRequest {
            action: Action::ScrollIntoView,
            target_tree: TreeId::ROOT,
            target_node: id.accesskit_id(),
            data: None,
        };
        ctx.input_mut(|i| i.events.push(egui::Event::AccessKitActionRequest(request)));
    }
}
