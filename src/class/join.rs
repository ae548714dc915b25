//! Admission: secrets and their hashes, cookies, a request's origin, limits on attempts to join.
//!
//! *Inside*: making and comparing secrets, the limits of one address and of one page. *Outside*: storing hashes
//! ([`super::keep`]), routes ([`super::server`]).
//!
//! A secret is 256 random bits. The class stores only its SHA-256, so that a copied folder does not reveal the
//! secret; a secret of that length needs no slower hash. A six-digit code can be found from its hash at once: it
//! works once, and only until the seat has moved. Hashes are compared so that the time taken reveals nothing about a
//! secret.

use crate::bench::record::hash_of_text;
use axum::http::{HeaderMap, header};
use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::time::{Duration, Instant};

/// Wrong words in a row from one address before it must wait.
const MOST_WRONG: u32 = 10;
/// How long such an address must wait.
const WAIT: Duration = Duration::from_secs(60);
/// Maximum number of addresses whose wrong tries are remembered; the oldest are dropped first.
const MOST_ADDRESSES: usize = 4096;

/// The word with which seats join is made of one word from each list.
const WORDS: [[&str; 16]; 2] = [
    [
        "amber", "blue", "brass", "bright", "calm", "copper", "early", "green", "grey", "north", "plain",
        "quick", "quiet", "round", "silver", "warm",
    ],
    [
        "badger", "dunlin", "finch", "heron", "lapwing", "marten", "otter", "plover", "rail", "robin",
        "snipe", "swift", "teal", "tern", "whimbrel", "wren",
    ],
];

/// The system provides no random bits: then nothing can be kept secret.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoRandom;

fn random<const N: usize>() -> Result<[u8; N], NoRandom> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|_| NoRandom)?;
    Ok(bytes)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// A new secret, as 64 hexadecimal digits.
pub fn secret() -> Result<String, NoRandom> {
    Ok(hex(&random::<32>()?))
}

/// A code to be read aloud: six digits, valid once.
pub fn code() -> Result<String, NoRandom> {
    let bits = u32::from_be_bytes(random()?);
    Ok(format!("{:06}", bits % 1_000_000))
}

/// A seed for a class's variants.
pub fn seed() -> Result<u64, NoRandom> {
    // an integer that a script in a page can represent exactly
    Ok(u64::from_be_bytes(random()?) >> 12)
}

/// A word for a new class.
pub fn class_word() -> Result<String, NoRandom> {
    let [a, b, c, d] = random()?;
    let [first, second] = WORDS;
    let number = u32::from(c) * 256 + u32::from(d);
    Ok(format!("{}-{}-{:03}", first[usize::from(a) % 16], second[usize::from(b) % 16], number % 1000))
}

/// The form in which a secret is stored: its hash.
pub fn kept(secret: &str) -> String {
    hash_of_text(secret)
}

/// A pseudonym fit for display on a tile: letters, digits, blanks and hyphens, at most 24.
pub fn pseudonym(word: &str) -> Option<String> {
    let word: Vec<&str> = word.split_whitespace().collect();
    let word = word.join(" ");
    let fits = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-');
    ((1..=24).contains(&word.chars().count()) && word.chars().all(fits)).then_some(word)
}

/// The value of a cookie of that name.
pub fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
    all.flat_map(|v| v.split(';')).find_map(|c| c.trim().strip_prefix(name)?.strip_prefix('='))
}

/// A cookie that scripts cannot read and other sites cannot send.
pub fn set_cookie(name: &str, value: &str, path: &str, secure: bool) -> String {
    let secure = if secure { "; Secure" } else { "" };
    format!("{name}={value}; Path={path}; Max-Age=2592000; HttpOnly; SameSite=Strict{secure}")
}

/// Whether the request comes from a page of this class: its `Origin` names the requested host. A request without an
/// `Origin` does not come from a page; `needed` refuses it.
pub fn own_origin(headers: &HeaderMap, needed: bool) -> bool {
    let text = |name| headers.get(name).and_then(|v| v.to_str().ok());
    let Some(origin) = text(header::ORIGIN) else { return !needed };
    let host = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
    host.is_some() && host == text(header::HOST)
}

/// The client's address: behind a proxy on this machine, the last address that the proxy names.
pub fn address(peer: SocketAddr, headers: &HeaderMap) -> IpAddr {
    let named = || {
        let list = headers.get("x-forwarded-for")?.to_str().ok()?;
        list.rsplit(',').next()?.trim().parse().ok()
    };
    if peer.ip().is_loopback() { named().unwrap_or(peer.ip()) } else { peer.ip() }
}

/// Counts consecutive wrong tries per address.
#[derive(Debug, Default)]
pub struct Door {
    wrong: BTreeMap<IpAddr, (u32, Instant)>,
}

impl Door {
    /// Whether this address may try now.
    pub fn may_try(&self, who: IpAddr, now: Instant) -> bool {
        self.wrong.get(&who).is_none_or(|(n, at)| *n < MOST_WRONG || now.duration_since(*at) >= WAIT)
    }
    /// Records a wrong try.
    pub fn was_wrong(&mut self, who: IpAddr, now: Instant) {
        if self.wrong.len() >= MOST_ADDRESSES
            && let Some(oldest) = self.wrong.iter().min_by_key(|(_, (_, at))| *at).map(|(ip, _)| *ip)
        {
            self.wrong.remove(&oldest);
        }
        let entry = self.wrong.entry(who).or_insert((0, now));
        let waited = entry.0 >= MOST_WRONG;
        *entry = if waited { (1, now) } else { (entry.0 + 1, now) };
    }
    /// Records a right try.
    pub fn was_right(&mut self, who: IpAddr) {
        self.wrong.remove(&who);
    }
}

/// A token bucket for messages: a burst at once, and after it a number per second.
#[derive(Debug)]
pub struct Rate {
    left: f64,
    most: f64,
    a_second: f64,
    at: Instant,
}

impl Rate {
    /// A bucket that is full at the start.
    pub fn new(most: f64, a_second: f64, now: Instant) -> Self {
        Self { left: most, most, a_second, at: now }
    }
    /// Whether one more message may pass.
    pub fn passes(&mut self, now: Instant) -> bool {
        let past = now.duration_since(self.at).as_secs_f64();
        self.at = now;
        self.left = (self.left + past * self.a_second).min(self.most);
        let passes = self.left >= 1.0;
        if passes {
            self.left -= 1.0;
        }
        passes
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    fn with(all: &[(&'static str, &'static str)]) -> HeaderMap {
        all.iter().map(|(k, v)| (k.parse().expect("a name"), HeaderValue::from_static(v))).collect()
    }

    #[test]
    fn holds_only_the_own_origin_passes() {
        let own = [("host", "10.0.0.5:8080"), ("origin", "http://10.0.0.5:8080")];
        assert!(own_origin(&with(&own), true));
        for foreign in ["http://10.0.0.5:8081", "http://elsewhere", "null", "10.0.0.5:8080"] {
            assert!(!own_origin(&with(&[own[0], ("origin", foreign)]), false), "{foreign}");
        }
        assert!(own_origin(&with(&own[..1]), false) && !own_origin(&with(&own[..1]), true));
    }

    #[test]
    fn holds_a_cookie_is_found_by_its_whole_name() {
        let h = with(&[("cookie", "myseat=1; seat=2; seats=3")]);
        assert_eq!((cookie(&h, "seat"), cookie(&h, "wall")), (Some("2"), None));
    }

    #[test]
    fn holds_pseudonyms_are_short_plain_words() {
        assert_eq!(pseudonym("  red   fox "), Some("red fox".into()));
        for bad in ["", "<b>x</b>", "a\u{1b}[31m", "x".repeat(25).as_str(), "a/b"] {
            assert_eq!(pseudonym(bad), None, "{bad:?}");
        }
    }

    #[test]
    #[expect(clippy::disallowed_methods, reason = "limits go by the clock")]
    fn holds_wrong_words_in_a_row_shut_the_door_for_a_while() {
        let (mut door, who, now) = (Door::default(), IpAddr::from([10, 0, 0, 9]), Instant::now());
        for _ in 0..MOST_WRONG {
            assert!(door.may_try(who, now));
            door.was_wrong(who, now);
        }
        assert!(!door.may_try(who, now) && door.may_try(IpAddr::from([10, 0, 0, 8]), now));
        assert!(door.may_try(who, now + WAIT));
        let mut rate = Rate::new(2.0, 1.0, now);
        assert_eq!([rate.passes(now), rate.passes(now), rate.passes(now)], [true, true, false]);
        assert!(rate.passes(now + Duration::from_secs(1)));
    }
}
