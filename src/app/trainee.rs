//! Who is working, which chooses the variant: a class seed with a trainee, or a ticket; the instructor's key.
//!
//! *Outside*: what a seal is ([`crate::session::ticket`]), what differs from trainee to trainee ([`crate::scenario`]).

use super::{Error, Files, Sort, bytes_of, text_of};
use crate::scenario::Who;
use crate::session::ticket::{Key, Ticket};

/// Who is working, as given to a front. The default is nobody: then the scenario runs as written.
#[derive(Debug, Clone, Copy, Default)]
pub struct Trainee<'a> {
    /// The class's seed; given together with a trainee.
    pub class_seed: Option<u64>,
    /// A pseudonym or bench number.
    pub trainee: Option<&'a str>,
    /// A ticket's file, which holds class seed and trainee.
    pub ticket: Option<&'a str>,
}

impl Trainee<'_> {
    /// The trainee, if one is named; a ticket must have been issued for this scenario text.
    pub fn who(&self, files: &dyn Files, scenario_text: &str) -> Result<Option<Who>, Error> {
        if let Some(file) = self.ticket {
            let wrong = |mistake| Error::mistake(file, mistake);
            let ticket = Ticket::read(&text_of(files, file, Sort::Ticket)?).map_err(wrong)?;
            return ticket.who(scenario_text).map(Some).map_err(wrong);
        }
        named(self.class_seed, self.trainee)
    }
}

/// The trainee named by a class seed and a word, which must be given together.
pub fn named(class_seed: Option<u64>, trainee: Option<&str>) -> Result<Option<Who>, Error> {
    match (class_seed, trainee) {
        (Some(seed), Some(word)) => {
            Who::new(seed, word, None).map(Some).map_err(|mistake| Error::mistake("--trainee", mistake))
        }
        _ => Ok(None),
    }
}

/// An instructor's key from its file.
pub fn key(files: &dyn Files, name: &str) -> Result<Key, Error> {
    Key::new(&bytes_of(files, name, Sort::Key)?).map_err(|mistake| Error::mistake(name, mistake))
}
