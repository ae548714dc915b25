//! The glossary: words in plain language, to search and to follow from one to the next.

use super::{Front, PanelState, Shown, Wish, sheet, style};
use crate::words::glossary::found;
use crate::words::say;
use egui::Context;

/// State of the glossary.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WordsState {
    /// The search text.
    pub search: String,
    /// The word that the sheet was opened for.
    pub at: String,
    /// The round of all panels in which the sheet was last drawn.
    drawn: u64,
}

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState, word: &str) -> Vec<Wish> {
    let mut front = state.front.clone();
    let kept = &mut state.words;
    // a key or another sheet may close the glossary, and only a round without it shows that it was closed: each
    // opening starts with the word it was opened for, not with the last search text
    let round = ctx.cumulative_pass_nr();
    if kept.at != word || kept.drawn + 1 < round {
        kept.at = word.into();
        kept.search = word.into();
    }
    kept.drawn = round;
    sheet(ctx, "words", &say("words-title"), &mut front, 560.0, |ui, _: &mut Front| {
        let r = ui.add(
            egui::TextEdit::singleline(&mut kept.search).hint_text(say("words-a-word")).desired_width(260.0),
        );
        if word.is_empty() && ui.memory(|m| m.focused().is_none()) {
            r.request_focus();
        }
        let found = found(shown.words, kept.search.trim());
        let mut go = None;
        for w in &found {
            ui.add_space(8.0);
            ui.label(style::bold(&w.term));
            if !w.also.is_empty() {
                style::soft(ui, &say!("words-also", words = style::listed(w.also.iter().cloned())));
            }
            ui.label(&w.says);
            if !w.see.is_empty() {
                ui.horizontal_wrapped(|ui| {
                    style::soft(ui, &say("words-see"));
                    for s in &w.see {
                        if ui.link(s).clicked() {
                            go = Some(s.clone());
                        }
                    }
                });
            }
        }
        if found.is_empty() {
            style::soft(ui, &say("words-none"));
        }
        if let Some(s) = go {
            kept.search = s;
        }
    });
    state.front = front;
    Vec::new()
}
