//! The window's size compared with the screen's, once it is open.

use super::Room;
use bevy::prelude::*;
use bevy::window::{Monitor, PrimaryWindow};

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
