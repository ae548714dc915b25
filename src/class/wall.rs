//! The instructor's wall: every seat as a tile, and what can be ordered.

use super::Class;
use axum::Router;
use std::sync::Arc;

/// The instructor's side of a class.
#[derive(Debug, Default)]
pub struct Wall {}

/// Routes of the instructor alone.
pub(super) fn routes(_at: &str) -> Router<Arc<Class>> {
    Router::new()
}
