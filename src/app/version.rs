//! The program's version: what two people compare when their results differ.

use super::VERSION;
use crate::bench::record;
use crate::store;
use crate::words::say;

/// The commit that the program was built from, if the builder set this variable.
const COMMIT: Option<&str> = option_env!("IDLEWRIGHT_COMMIT");

/// Version; physics and sources as in a logbook's first line; build. One line each.
pub fn version() -> String {
    let build =
        say!("version-build", profile = env!("IDLEWRIGHT_PROFILE"), target = env!("IDLEWRIGHT_TARGET"));
    let commit = COMMIT.filter(|c| !c.is_empty()).map(|c| say!("version-commit", commit = c));
    let lines = [
        VERSION.to_owned(),
        say!("version-physics", hash = record::PHYSICS),
        say!("version-sources", hash = store::SOURCES),
        build + &commit.unwrap_or_default(),
    ];
    lines.join("\n")
}
