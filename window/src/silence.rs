//! In place of the sound card where the program is built without the feature `sound`: nothing is played, and nothing
//! said of it.

use idlewright::session::live::Live;
use idlewright::window::panels::Plays;

/// Nobody listens.
#[derive(Default)]
pub struct Ears(());

impl Ears {
    /// Does nothing.
    pub fn attend(&mut self, _volume_pct: Option<u8>, _live: &Live) {}
    /// It plays nothing.
    pub fn plays(&self) -> Plays<'_> {
        Plays::Not
    }
}
