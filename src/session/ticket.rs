//! Tickets: an instructor's seal over who gets which variant of which scenario.
//!
//! *Inside*: the format of a ticket, making and checking its seal. *Outside*: ticket files and key files (command
//! line), variants ([`crate::scenario`]).
//!
//! A ticket names a scenario by id and hash of its text, the class seed and the trainee. Its seal is an HMAC-SHA256
//! (RFC 2104, FIPS 198-1) over these under the instructor's key. Without the key nobody can make a ticket or change
//! any of the four. The seal proves that the instructor issued this ticket, not who sat at the bench with it.
//!
//! **Checked by** `tests/attempts/variants.rs`.

use crate::bench::record;
use crate::scenario::{Mistake, Who};
use hmac::{Hmac, KeyInit, Mac};
use serde::{Deserialize, Serialize};
use serde_json::json;
use sha2::Sha256;

/// Version of a ticket's format.
pub const TICKET_SCHEMA: u64 = 1;
/// Minimum key length \[bytes\]: half the hash's output, the limit that RFC 2104 section 3 gives for the tag (for the
/// key itself it advises the length of the hash; a new key is longer).
pub const SHORTEST_KEY: usize = 16;

/// An instructor's key.
#[derive(Clone)]
pub struct Key(Vec<u8>);

impl Key {
    /// A key from a file's bytes. Trailing line ends are ignored: an editor may add one.
    pub fn new(bytes: &[u8]) -> Result<Self, Mistake> {
        let end = bytes.iter().rposition(|b| !b"\r\n".contains(b)).map_or(0, |last| last + 1);
        let bytes = &bytes[..end];
        if bytes.len() < SHORTEST_KEY {
            return Err(Mistake::ShortKey { least: SHORTEST_KEY, given: bytes.len() });
        }
        Ok(Self(bytes.to_vec()))
    }

    /// The sealed data: a list with a different encoding for every different ticket.
    fn mac(&self, id: &str, hash: &str, who: &Who) -> Option<Hmac<Sha256>> {
        let sealed = json!(["idlewright ticket", TICKET_SCHEMA, id, hash, who.class_seed, who.trainee]);
        // HMAC accepts a key of any length
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).ok()?;
        mac.update(sealed.to_string().as_bytes());
        Some(mac)
    }

    /// The seal over a scenario by id and hash, class seed and trainee, as lower-case hex.
    pub fn seal(&self, id: &str, hash: &str, who: &Who) -> String {
        let tag = self.mac(id, hash, who).map(|m| m.finalize().into_bytes());
        tag.map_or(String::new(), |t| t.iter().map(|b| format!("{b:02x}")).collect())
    }

    /// Checks whether a given seal was made with this key.
    pub fn check(&self, id: &str, hash: &str, who: &Who) -> Seal {
        let Some(text) = &who.seal else { return Seal::Unsealed };
        let (Some(tag), Some(mac)) = (from_hex(text), self.mac(id, hash, who)) else { return Seal::Forged };
        // compared in constant time, which does not reveal how much of it is right
        if mac.verify_slice(&tag).is_ok() { Seal::Sealed } else { Seal::Forged }
    }
}

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Key(..)")
    }
}

fn from_hex(text: &str) -> Option<Vec<u8>> {
    let digits: Option<Vec<u8>> =
        text.chars().map(|c| c.to_digit(16).filter(|_| !c.is_ascii_uppercase()).map(|d| d as u8)).collect();
    let digits = digits?;
    digits.len().is_multiple_of(2).then(|| digits.chunks(2).map(|d| 16 * d[0] + d[1]).collect())
}

/// The result of checking a seal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Seal {
    /// The seal was made with the key.
    #[serde(rename = "sealed")]
    Sealed,
    /// There is a seal, but it was not made with the key for this ticket.
    #[serde(rename = "forged")]
    Forged,
    /// There is no seal.
    #[serde(rename = "unsealed")]
    Unsealed,
    /// There is a seal, but no key to check it with.
    #[serde(rename = "not checked")]
    NotChecked,
}

impl Seal {
    /// The result in one or two words.
    pub fn word(self) -> &'static str {
        match self {
            Seal::Sealed => "sealed",
            Seal::Forged => "forged",
            Seal::Unsealed => "unsealed",
            Seal::NotChecked => "not checked",
        }
    }
    /// The result without a key.
    pub fn without_key(who: Option<&Who>) -> Self {
        match who.and_then(|w| w.seal.as_ref()) {
            Some(_) => Seal::NotChecked,
            None => Seal::Unsealed,
        }
    }
}

/// The word for a run's own seal, which has not been checked yet; none if no trainee is named.
pub(super) fn word(who: Option<&Who>) -> Option<&'static str> {
    who.map(|w| Seal::without_key(Some(w)).word())
}

/// A ticket's file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ticket {
    /// Version of its format: see [`TICKET_SCHEMA`].
    pub idlewright_ticket: u64,
    /// The scenario's id.
    pub scenario: String,
    /// Hash of its text.
    pub hash: String,
    /// The class's seed.
    pub class_seed: u64,
    /// The trainee.
    pub trainee: String,
    /// The seal.
    pub seal: String,
}

impl Ticket {
    /// A sealed ticket for one trainee.
    pub fn new(id: &str, scenario_text: &str, who: &Who, key: &Key) -> Self {
        let hash = record::hash_of_text(scenario_text);
        Self {
            idlewright_ticket: TICKET_SCHEMA,
            scenario: id.to_owned(),
            class_seed: who.class_seed,
            trainee: who.trainee.clone(),
            seal: key.seal(id, &hash, who),
            hash,
        }
    }
    /// Its file's text.
    pub fn text(&self) -> String {
        format!("{}\n", json!(self))
    }
    /// Reads a ticket's file.
    pub fn read(text: &str) -> Result<Self, Mistake> {
        let no_ticket = |e: serde_json::Error| Mistake::NoTicket { says: e.to_string() };
        let ticket: Self = serde_json::from_str(text.trim_end()).map_err(no_ticket)?;
        if ticket.idlewright_ticket != TICKET_SCHEMA {
            return Err(Mistake::TicketForm { given: ticket.idlewright_ticket, reads: TICKET_SCHEMA });
        }
        Ok(ticket)
    }
    /// The trainee whom it admits to this scenario. The holder of the key checks the seal.
    pub fn who(self, scenario_text: &str) -> Result<Who, Mistake> {
        if record::hash_of_text(scenario_text) != self.hash {
            return Err(Mistake::TicketOfOther { scenario: self.scenario });
        }
        Who::new(self.class_seed, &self.trainee, Some(self.seal))
    }
}
