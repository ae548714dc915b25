//! The window's size compared with the screen's, once it is open, and the part of it in which the engine is drawn.

use super::Room;
use bevy::camera::Viewport;
use bevy::prelude::*;
use bevy::window::{Monitor, PrimaryWindow};
use bevy_egui::egui;

/// Enlarges a window that is larger than the screen, or hardly smaller, to all of it: by its size if there is no
/// window manager.
pub(super) fn fit_screen(
    mut done: Local<'_, bool>,
    room: Res<'_, Room>,
    screens: Query<'_, '_, &Monitor>,
    mut window: Single<'_, '_, &mut Window, With<PrimaryWindow>>,
) {
    if *done || room.frames.is_some() || room.picture.is_some() {
        return;
    }
    let Some(screen) = screens.iter().next() else { return };
    *done = true;
    let (wide, tall) = (window.physical_width(), window.physical_height());
    if too_large((wide, tall), (screen.physical_width, screen.physical_height)) {
        let size = (wide.min(screen.physical_width), tall.min(screen.physical_height));
        window.resolution.set_physical_resolution(size.0, size.1);
        window.set_maximized(true);
    }
}

/// True when a window of this size leaves no space for the screen's edges \[pixels\].
fn too_large((wide, tall): (u32, u32), (screen_wide, screen_tall): (u32, u32)) -> bool {
    wide > screen_wide || tall + SCREEN_EDGES > screen_tall
}

/// Height that a title bar and a task bar take from the screen \[pixels\].
const SCREEN_EDGES: u32 = 60;

/// Restricts the engine to the area that the panels leave free.
pub(super) fn view_port(camera: &mut Camera, rect: egui::Rect, ctx: &egui::Context, window: &Window) {
    let k = ctx.pixels_per_point();
    let most = UVec2::new(window.physical_width(), window.physical_height());
    let at = UVec2::new((rect.left() * k) as u32, (rect.top() * k) as u32).min(most);
    let size = UVec2::new((rect.width() * k) as u32, (rect.height() * k) as u32).min(most - at);
    if size.x > 0 && size.y > 0 {
        let same =
            camera.viewport.as_ref().is_some_and(|v| v.physical_position == at && v.physical_size == size);
        if !same {
            camera.viewport =
                Some(Viewport { physical_position: at, physical_size: size, ..Viewport::default() });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The window opened at 1600 × 900, whatever the screen.
    #[test]
    fn bug_a_window_fits_its_screen() {
        assert!(too_large((1600, 900), (1366, 768)));
        assert!(too_large((1600, 900), (1600, 900)), "no room for its own title");
        assert!(!too_large((1600, 900), (1920, 1080)));
    }
}
