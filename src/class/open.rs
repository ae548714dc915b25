//! Opening a class: checks the configuration, accepts connections, and prints the address of the class.
//!
//! *Outside*: arguments (the command line), serving ([`super::server`]).
#![expect(clippy::disallowed_methods, reason = "certificate and key are files that a person names")]

use super::listen::{self, Gate};
use super::server::{serve, tls};
use super::{Class, Config};
use crate::app::Error;
use crate::words::say;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Default port.
const PORT: u16 = 8080;

/// Prints messages for the person who opens the class.
pub type Tells<'a> = dyn Fn(&str) -> Result<(), Error> + 'a;

/// How often the stop flag is checked.
const LOOKS_EVERY: Duration = Duration::from_millis(100);

/// Opens a class and serves it until the flag is set.
pub fn run(config: &Config, stop: &Arc<AtomicBool>, tells: &Tells<'_>) -> Result<(), Error> {
    let at = listens(config)?;
    let config = Config { base: base(&config.base)?, ..config.clone() };
    let tls = match &config.certificate {
        None => None,
        Some((cert, key)) => Some(tls(&bytes(cert)?, &bytes(key)?)?),
    };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|e| Error::File(say!("class-no-threads", why = e.to_string())))?;
    runtime.block_on(async {
        let cannot = |e: std::io::Error| {
            Error::File(say!("class-cannot-listen", address = at.to_string(), why = e.to_string()))
        };
        let listener = listen::bind(at).await.map_err(cannot)?;
        let at = listener.local_addr().unwrap_or(at);
        let (class, secret) = Class::open(&config)?;
        tells(&found(&class, &config, at, secret.as_deref()))?;
        let gate = Gate::new(listener, tls, 4 * config.seats + 64).map_err(cannot)?;
        let stop = stop.clone();
        serve(class, gate, async move {
            while !stop.load(Ordering::Relaxed) {
                tokio::time::sleep(LOOKS_EVERY).await;
            }
        })
        .await;
        Ok::<(), Error>(())
    })?;
    // the seats' threads end with the program; their work is in the journals
    runtime.shutdown_background();
    Ok(())
}

/// Plays a number of seats in a class of its own, and prints the measurements line by line.
pub fn rehearse(config: &Config, seats: &[usize], seconds: f64, tells: &Tells<'_>) -> Result<(), Error> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|e| Error::File(say!("class-no-threads", why = e.to_string())))?;
    let folders: Vec<_> = seats.iter().map(|n| config.folder.join(format!("{n}-seats"))).collect();
    // folders left by an earlier rehearsal would make this one refuse its pages
    if let Some(there) = folders.iter().find(|f| f.exists()) {
        return Err(Error::rule(say!("class-rehearsal-there", folder = there.display().to_string())));
    }
    tells(&format!("{}\n", say("class-rehearsal-head")))?;
    for (n, folder) in seats.iter().zip(folders) {
        let config = Config { folder, ..config.clone() };
        let played = runtime.block_on(super::rehearse::rehearse(&config, *n, seconds))?;
        tells(&format!("{}\n", played.line()))?;
    }
    runtime.shutdown_background();
    Ok(())
}

/// The address to listen at: this machine alone, unless the network is requested.
pub(super) fn listens(config: &Config) -> Result<SocketAddr, Error> {
    let listen = match &config.listen {
        Some(text) => text
            .parse()
            .map_err(|_| Error::rule(say!("class-no-address", given = crate::app::shown(text))))?,
        None if config.lan => SocketAddr::from(([0, 0, 0, 0], PORT)),
        None => SocketAddr::from(([127, 0, 0, 1], PORT)),
    };
    if !config.lan && !listen.ip().is_loopback() {
        return Err(Error::rule(say!("class-needs-lan", address = listen.to_string())));
    }
    Ok(listen)
}

/// The prefix of every path.
fn base(asked: &str) -> Result<String, Error> {
    let base = asked.trim_matches('/');
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '/');
    if !base.chars().all(plain) || base.contains("//") {
        return Err(Error::rule(say("class-base-path")));
    }
    Ok(if base.is_empty() { String::new() } else { format!("/{base}") })
}

fn bytes(file: &Path) -> Result<Vec<u8>, Error> {
    let wrong = |e: std::io::Error| say!("class-certificate", why = format!("{}: {e}", file.display()));
    std::fs::read(file).map_err(|e| Error::rule(wrong(e)))
}

/// The message that says how to reach the class.
fn found(class: &Class, config: &Config, at: SocketAddr, secret: Option<&str>) -> String {
    let scheme = if class.secure { "https" } else { "http" };
    let host = if at.ip().is_unspecified() { listen::own_address().unwrap_or(at.ip()) } else { at.ip() };
    let url = format!("{scheme}://{}{}/", SocketAddr::new(host, at.port()), config.base);
    let mut lines = vec![
        say!("class-open", folder = config.folder.display().to_string()),
        say!("class-address", url = url.as_str()),
        say!("class-its-word", word = class.word.as_str()),
    ];
    match secret {
        Some(secret) => lines.push(say!("class-link", url = format!("{url}wall?key={secret}"))),
        None => lines.push(say("class-link-again")),
    }
    if !at.ip().is_loopback() {
        if let Ok(code) = QrCode::new(&url) {
            lines.push(code.render::<Dense1x2>().quiet_zone(true).build());
        }
        lines.push(say("class-lan-caution"));
        if !class.secure {
            lines.push(say("class-lan-plain"));
        }
    }
    if let Some(first) = config.testers {
        lines.push(say!("class-testers", port = first.to_string()));
    }
    lines.push(say("class-stop"));
    format!("{}\n", lines.join("\n"))
}
