//! A person's terminal: what is told beside results, and what no text of a file may do to it.
//!
//! *Inside*: the one writer of the error stream. *Outside*: results, which go to standard output or into files (each
//! front's).

use std::io::{IsTerminal, Write};

/// Text from files without what would move a terminal's cursor, colour it, or turn the order of its letters; line ends
/// and tabs stay.
pub fn clean(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars()
        .filter(|c| !turns(*c))
        .map(|c| if c.is_control() && !matches!(c, '\n' | '\t') { ' ' } else { c })
        .collect()
}

/// Tells a person something, on a line of its own. Where the error stream is full or closed the text is dropped, so that
/// no result is lost for it.
pub fn tell(text: &str) {
    let _ = std::io::stderr().lock().write_all(format!("{}\n", clean(text)).as_bytes());
}

/// Puts a line of progress in place of the one before it, where somebody looks on; an empty one takes it away.
pub fn progress(line: &str) {
    let mut out = std::io::stderr().lock();
    if !out.is_terminal() {
        return;
    }
    let _ = out.write_all(format!("\r\x1b[2K{}", clean(line)).as_bytes());
    let _ = out.flush();
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn holds_text_cannot_move_a_cursor() {
        assert_eq!(clean("a\u{1b}[31mb\rc\u{9b}2J\u{202e}d\te\n"), "a [31mb c 2Jd\te\n");
    }
}
