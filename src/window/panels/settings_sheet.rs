//! The sheet on which settings are changed.

use super::language::{self, Offer};
use super::settings::{Settings, Theme};
use super::{Front, PanelState, Plays, Shown, Wish, sheet, style};
use crate::words::numbers::Units;
use crate::words::say;
use egui::{Context, Slider, Ui};
use std::sync::Arc;

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut s = *shown.settings;
    sheet(ctx, "settings", &say("settings-title"), &mut state.front, 460.0, |ui, _: &mut Front| {
        ui.label(style::bold(&say("settings-light")));
        ui.radio_value(&mut s.theme, Theme::Board, say("settings-board"));
        ui.radio_value(&mut s.theme, Theme::Night, say("settings-night"));
        ui.add_space(10.0);
        ui.label(style::bold(&say("settings-size")));
        ui.checkbox(&mut s.projector, say("settings-projector"));
        ui.add_space(10.0);
        ui.label(style::bold(&say("settings-units")));
        ui.radio_value(&mut s.units, Units::Metric, say("settings-metric"));
        ui.radio_value(&mut s.units, Units::Us, say("settings-us"));
        style::soft(ui, &say("settings-files-stay-metric"));
        ui.add_space(10.0);
        languages(ui, &mut s);
        ui.add_space(10.0);
        ui.label(style::bold(&say("settings-motion")));
        ui.checkbox(&mut s.reduced_motion, say("settings-reduced"));
        ui.add_space(10.0);
        sound(ui, shown.plays, &mut s);
        if let Some(path) = Settings::path() {
            style::soft(ui, &say!("settings-kept-in", path = path.display().to_string()));
        }
    });
    if s == *shown.settings { Vec::new() } else { vec![Wish::Settings(s)] }
}

/// Sound, where the program was built with it.
fn sound(ui: &mut Ui, plays: Plays<'_>, s: &mut Settings) {
    if plays == Plays::Not {
        return;
    }
    ui.label(style::bold(&say("settings-sound")));
    ui.checkbox(&mut s.sound, say("settings-sound-on"));
    ui.add_enabled_ui(s.sound, |ui| {
        // in steps, so that the file of settings is not written with every frame of a drag
        ui.add(Slider::new(&mut s.volume.0, 0..=100).step_by(10.0).text(say("settings-volume")));
    });
    let below = match plays {
        Plays::Fails(why) => say!("settings-sound-fails", why = why),
        _ => say("settings-sound-first-low"),
    };
    style::soft(ui, &below);
    ui.add_space(10.0);
}

/// The available languages, and how to add another one.
fn languages(ui: &mut Ui, s: &mut Settings) {
    ui.label(style::bold(&say("settings-language")));
    for offer in offered(ui.ctx()).iter() {
        ui.add_enabled_ui(offer.words.is_ok(), |ui| {
            ui.radio_value(&mut s.language, offer.tag, offer.name());
        });
        if let Err(why) = &offer.words {
            style::soft(ui, why);
        }
    }
    if let Some(folder) = language::folder() {
        style::soft(ui, &say!("settings-add-language", folder = folder.display().to_string()));
    }
}

/// The languages on offer; their files are read when the sheet is opened, not with every frame.
fn offered(ctx: &Context) -> Arc<Vec<Offer>> {
    let id = egui::Id::new("languages that are offered");
    let round = ctx.cumulative_pass_nr();
    let kept: Option<(u64, Arc<Vec<Offer>>)> = ctx.data(|d| d.get_temp(id));
    let fresh = kept.filter(|(drawn, _)| drawn + 1 >= round);
    let offers = fresh.map_or_else(|| Arc::new(language::offers()), |(_, offers)| offers);
    ctx.data_mut(|d| d.insert_temp(id, (round, offers.clone())));
    offers
}
