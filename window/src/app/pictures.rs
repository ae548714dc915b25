//! Output of the window apart from the work itself: pictures of it, frame times, the screen's contents as text.
//!
//! *Inside*: when a picture is taken and whether it is complete; timing frames; the file with the screen's contents.
//! *Outside*: one frame ([`super`]).

use super::Room;
use bevy::prelude::*;
use bevy::render::render_resource::PollType;
use bevy::render::renderer::{RenderAdapterInfo, RenderDevice};
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured, save_to_disk};
use bevy_egui::{EguiContext, EguiOutput, PrimaryEguiContext, egui};
use idlewright::session::live::{Order, Pace};
use idlewright::window::panels::{self, Middle};
use idlewright::words::numbers::number;
use idlewright::words::{Value, say, say_with};
use std::collections::BTreeMap;
use std::path::Path;

/// Frames that are drawn before a picture is taken, so that fonts and layout have settled.
const SETTLE: u32 = 12;
/// Frames after which a picture that is not finished is given up.
const PICTURE_FRAMES: u32 = 200;
/// Pictures that are taken before the program gives up waiting for the engine to appear in one.
const PICTURES: u32 = 20;
/// Least share of the engine's area that is not background: even the sparsest view of an engine fills more.
const ENGINE_SHARE: f64 = 0.06;

/// Progress of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shot {
    /// The bench has not been told how far to run.
    Asked,
    /// It runs there.
    Running,
    /// Number of frames since the bench got there.
    Settling(u32),
    /// Taken; number of frames since then.
    Taken(u32),
    /// It is in its file.
    Kept,
}

/// Writes a picture of the window into a folder; returns the result in words.
#[expect(clippy::disallowed_methods, reason = "what somebody wanted to keep of the window")]
pub(super) fn write_picture(image: &Image, folder: &Path) -> String {
    let file = panels::charts::free(folder, "window.png");
    let shown = file.display().to_string();
    let written = std::fs::create_dir_all(folder).map_err(|e| e.to_string()).and_then(|()| {
        let image = image.clone().try_into_dynamic().map_err(|e| e.to_string())?;
        // a window has no transparent parts
        image.to_rgb8().save(&file).map_err(|e| e.to_string())
    });
    match written {
        Ok(()) => say_with("drawing-written", &[("file", shown.into())]),
        Err(why) => say_with("drawing-not-written", &[("file", shown.into()), ("why", why.into())]),
    }
}

/// Takes the picture that was asked for, and ends the program.
pub(super) fn take_picture(
    mut commands: Commands,
    mut room: ResMut<'_, Room>,
    mut exit: MessageWriter<'_, AppExit>,
) {
    let trouble = room.live.trouble().is_some();
    let taken = room.pictures;
    let Some((_, shot)) = &mut room.picture else { return };
    match *shot {
        Shot::Settling(n) if !trouble && n >= SETTLE => {
            commands.spawn(Screenshot::primary_window()).observe(keep_picture);
            *shot = Shot::Taken(0);
        }
        Shot::Kept => {
            exit.write(AppExit::Success);
        }
        Shot::Taken(n) if !trouble && n <= PICTURE_FRAMES && taken < PICTURES => *shot = Shot::Taken(n + 1),
        Shot::Taken(_) => {
            exit.write(AppExit::error());
        }
        _ if trouble => {
            exit.write(AppExit::error());
        }
        _ => {}
    }
}

/// Times frames while the car idles, waiting for each one; reports the result, and ends the program.
pub(super) fn time_frames(
    mut room: ResMut<'_, Room>,
    time: Res<'_, Time<Real>>,
    (card, device): (Option<Res<'_, RenderAdapterInfo>>, Option<Res<'_, RenderDevice>>),
    mut exit: MessageWriter<'_, AppExit>,
) {
    let room = &mut *room;
    let Some(frames) = &mut room.frames else { return };
    let waited = device.is_some_and(|d| d.poll(PollType::wait_indefinitely()).is_ok());
    if !waited || room.live.trouble().is_some() {
        exit.write(AppExit::error());
        return;
    }
    if room.drawn <= SETTLE || room.built.is_none() {
        return;
    }
    if room.view.pace != Pace::REAL {
        let _ = room.live.order(Order::Pace(Pace::REAL));
        return;
    }
    if frames.add(1e3 * time.delta_secs_f64()) {
        let (per_s, mean_ms, slow_ms) = frames.come_to();
        let card =
            card.map_or_else(|| say("drawing-unknown-card"), |c| format!("{} ({:?})", c.name, c.backend));
        let values: [(&str, Value<'_>); 6] = [
            ("wide", room.size.0.to_string().into()),
            ("high", room.size.1.to_string().into()),
            ("card", card.into()),
            ("per_s", number(per_s, 1).into()),
            ("mean", number(mean_ms, 2).into()),
            ("slow", number(slow_ms, 2).into()),
        ];
        println!("{}", say_with("drawing-frames", &values));
        exit.write(AppExit::Success);
    }
}

/// Keeps a complete picture; takes another one if the first frames were incomplete.
fn keep_picture(taken: On<'_, '_, ScreenshotCaptured>, mut room: ResMut<'_, Room>) {
    let image = &taken.image;
    let wide = image.width() as usize;
    let at = room.engine_at.filter(|_| room.state.middle == Middle::Engine);
    let whole = image.data.as_deref().is_some_and(|bytes| is_whole(bytes, wide, at));
    room.pictures += 1;
    let Some((picture, shot)) = &mut room.picture else { return };
    *shot = if whole {
        save_to_disk(picture.file.clone())(taken);
        Shot::Kept
    } else {
        Shot::Settling(0)
    };
}

/// True when the picture is not of one colour, and the engine's area holds more than background.
fn is_whole(bytes: &[u8], wide: usize, engine: Option<egui::Rect>) -> bool {
    let pixels: Vec<&[u8]> = bytes.chunks_exact(4).collect();
    let Some(first) = pixels.first() else { return false };
    if pixels.iter().all(|p| p == first) {
        return false;
    }
    let Some(r) = engine else { return true };
    let mut of: BTreeMap<&[u8], usize> = BTreeMap::new();
    let (mut all, mut most) = (0, 0);
    for row in pixels.chunks(wide.max(1)).take(r.bottom() as usize).skip(r.top() as usize) {
        for p in row.iter().take(r.right() as usize).skip(r.left() as usize) {
            let n = of.entry(p).or_default();
            *n += 1;
            all += 1;
            most = most.max(*n);
        }
    }
    all > 0 && (all - most) as f64 > ENGINE_SHARE * all as f64
}

/// Writes the screen's contents to the file that was asked for.
pub(super) fn tell_screen(
    mut room: ResMut<'_, Room>,
    egui: Single<'_, '_, (&mut EguiContext, &EguiOutput), With<PrimaryEguiContext>>,
) {
    let room = &mut *room;
    let Some(screen) = &mut room.screen else { return };
    let (mut ctx, out) = egui.into_inner();
    let Some(tree) = &out.platform_output.accesskit_update else { return };
    let drawn = room.drawn > SETTLE && room.built.is_some();
    if let Err(why) = screen.write(ctx.get_mut(), tree, &room.view, drawn) {
        room.told = Some(why);
        room.screen = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holds_a_picture_without_the_engine_is_not_kept() {
        let wide = 100;
        let paper = [243_u8, 240, 232, 255];
        let mut bytes: Vec<u8> = paper.repeat(wide * 100);
        let engine = Some(egui::Rect::from_min_max(egui::pos2(20.0, 20.0), egui::pos2(80.0, 80.0)));
        assert!(!is_whole(&bytes, wide, None), "of one colour");
        // a panel beside the engine's area
        bytes[..wide * 4 * 10].fill(0);
        assert!(is_whole(&bytes, wide, None));
        assert!(!is_whole(&bytes, wide, engine), "paper where the engine should be");
        // the engine, on a tenth of its area
        for row in 30..48 {
            bytes[(row * wide + 30) * 4..(row * wide + 50) * 4].fill(90);
        }
        assert!(is_whole(&bytes, wide, engine));
    }
}
