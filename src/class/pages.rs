//! Pages and their headers: the files, the content policy, and responses of every kind.
//!
//! Only our own scripts run in a page, nothing is loaded from other hosts, and no other page may embed one of ours.
//! *Outside*: the mapping of requests to responses ([`super::server`], [`super::wall`]).

use super::Class;
use crate::words::numbers::Units;
use crate::words::say;
use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::Response;
use serde::Deserialize;
use serde_json::json;
use std::sync::Arc;

/// The class to which a request is addressed.
pub(super) type Shared = State<Arc<Class>>;

/// The units that a page asks for with its socket or for a document: `us`, else metric.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Asks {
    #[serde(default)]
    units: String,
}

impl Asks {
    /// The units.
    pub(super) fn units(&self) -> Units {
        if self.units == "us" { Units::Us } else { Units::Metric }
    }
}

/// The policy of a page: run our scripts, show our pictures, connect to us.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
/// The policy of a debrief: its own styles, and nothing else.
pub(super) const PAPER: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; \
    form-action 'none'; frame-ancestors 'none'; sandbox";

macro_rules! pages {
    ($($name:literal)+; $($font:literal)+) => {
        &[
            $(($name, include_bytes!(concat!("../../assets/class/", $name))),)+
            $(($font, include_bytes!(concat!("../../assets/fonts/", $font))),)+
        ]
    };
}

/// Every file of the pages, and the fonts.
pub const PAGES: &[(&str, &[u8])] = pages! {
    "charts.js" "dom.js" "engine.js" "hands.js" "job.js" "join.css" "join.html" "join.js" "keys.js"
    "link.js" "look.js" "mind.js" "now.js" "offers.js" "seat.css" "seat.html" "seat.js" "section.js"
    "time.js" "tokens.css" "wall-look.js" "wall-orders.js" "wall.css" "wall.html" "wall.js" "words.js";
    "AtkinsonHyperlegibleMono-Bold.ttf" "AtkinsonHyperlegibleMono-Regular.ttf"
    "AtkinsonHyperlegibleNext-Bold.ttf" "AtkinsonHyperlegibleNext-Regular.ttf"
};

/// Adds the security headers to every response.
pub(super) async fn with_headers(mut response: Response) -> Response {
    let headers = response.headers_mut();
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(POLICY));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    let all = [
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "DENY"),
        ("referrer-policy", "no-referrer"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        ("permissions-policy", "camera=(), microphone=(), geolocation=()"),
    ];
    for (name, value) in all {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    response
}

/// A text as a response of a content type.
pub(super) fn answer(status: StatusCode, kind: &'static str, text: impl Into<Body>) -> Response {
    let mut response = Response::new(text.into());
    *response.status_mut() = status;
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    response
}

/// A response with one or more debriefs.
pub(super) fn paper(html: String) -> Response {
    let mut page = answer(StatusCode::OK, "text/html; charset=utf-8", html);
    page.headers_mut().insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(PAPER));
    page
}

/// A refusal with a sentence that says why.
pub(super) fn refuse(status: StatusCode, why: &str) -> Response {
    answer(status, "application/json", json!({ "why": why }).to_string())
}

/// A file of a page.
pub(super) async fn page(name: &str) -> Response {
    let Some((name, bytes)) = PAGES.iter().find(|(n, _)| *n == name) else {
        return refuse(StatusCode::NOT_FOUND, &say("class-not-there"));
    };
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        Some("ttf") => "font/ttf",
        _ => "application/octet-stream",
    };
    answer(StatusCode::OK, kind, *bytes)
}
