//! The job card on paper. *Outside*: prices and sums ([`crate::session`]).

use super::fixed;
use super::html::escape;
use crate::session::Job;
use std::fmt::Write;

impl Job {
    /// The sum in words.
    pub(super) fn sum_words(&self) -> String {
        let parts = match self.parts_bought {
            0 => "no part bought".to_string(),
            1 => "1 part bought".to_string(),
            n => format!("{n} parts bought"),
        };
        format!("{} min, {} {}, {parts}", fixed(self.minutes, 0), fixed(self.money, 2), self.currency)
    }
    /// Lines in words, the same work taken together.
    pub(super) fn lines_words(&self) -> String {
        let mut all: Vec<(&str, u32, f64)> = Vec::new();
        for l in &self.lines {
            match all.iter_mut().find(|a| a.0 == l.what) {
                Some(a) => (a.1, a.2) = (a.1 + 1, a.2 + l.minutes),
                None => all.push((&l.what, 1, l.minutes)),
            }
        }
        let one = |(what, times, minutes): &(&str, u32, f64)| {
            let times = if *times > 1 { format!("{times} × ") } else { String::new() };
            format!("{times}{what} {} min", fixed(*minutes, 1))
        };
        all.iter().map(one).collect::<Vec<_>>().join("; ")
    }
    /// The card as a section of the debrief.
    pub(super) fn html(&self, o: &mut String) {
        let _ = write!(
            o,
            "<section><h2>Job card</h2><p>{}.</p><div class=\"scroll\"><table><thead><tr><th>Act</th><th>Work</th>\
             <th class=\"n\">min</th><th class=\"n\">{}</th></tr></thead><tbody>",
            escape(&self.sum_words()),
            escape(&self.currency)
        );
        for l in &self.lines {
            let _ = write!(
                o,
                "<tr><td>{}</td><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td></tr>",
                escape(&l.id),
                escape(&l.what),
                fixed(l.minutes, 1),
                fixed(l.money, 2)
            );
        }
        o.push_str("</tbody></table></div></section>\n");
    }
}
