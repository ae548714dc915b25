//! The user's terminal: messages beside the results, and protection against control characters in texts from files.
//!
//! *Inside*: the one writer of the error stream. *Outside*: results, which go to standard output or into files (each
//! front's).

use std::io::{IsTerminal, Write};

/// A text without the characters that would move a terminal's cursor, set its colour, or reverse the direction of
/// text; line ends and tabs are kept.
pub fn clean(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars()
        .filter(|c| !turns(*c))
        .map(|c| if c.is_control() && !matches!(c, '\n' | '\t') { ' ' } else { c })
        .collect()
}

/// Writes a message on a line of its own. If the error stream is full or closed the message is dropped, so that it
/// costs no result.
pub fn tell(text: &str) {
    let _ = std::io::stderr().lock().write_all(format!("{}\n", clean(text)).as_bytes());
}

/// Replaces the previous progress line, if the error stream is a terminal; an empty line removes it.
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
