//! What a package holds beside the programs: manual pages and completions have every command and argument.

#[path = "../../examples/packaging.rs"]
#[allow(dead_code, reason = "the example's own main is not called here")]
mod written;

use idlewright::cli;

/// The text of a manual page without its marks.
fn plain(page: &str) -> String {
    page.replace("\\-", "-")
        .replace("\\*(Aq", "'")
        .replace("\\(aq", "'")
        .replace("\\fB", "")
        .replace("\\fI", "")
        .replace("\\fR", "")
}

#[test]
fn holds_every_command_has_a_manual_page_that_says_what_its_help_says() {
    for (name, ..) in written::PACKAGES {
        let pages = written::pages(name);
        // a word that fills a line cannot be set
        for word in pages.iter().flat_map(|(_, text)| text.split_whitespace()) {
            assert!(word.len() < 60, "{word}");
        }
        let all = cli::command();
        let commands: Vec<_> = all.get_subcommands().filter(|c| c.get_name() != "help").collect();
        assert_eq!(pages.len(), commands.len() + 1);
        let page_of = |file: &str| {
            let found = pages.iter().find(|(f, _)| f == &format!("share/man/man1/{file}.1"));
            plain(&found.unwrap_or_else(|| panic!("no page {file}")).1)
        };
        let first = page_of(name);
        assert!(first.contains(&format!(".TH {name} 1")), "{first}");
        for c in commands {
            let page = page_of(&format!("{name}-{}", c.get_name()));
            let about = c.get_about().expect("help").to_string();
            assert!(page.contains(&about) && first.contains(&about), "{}: {about}", c.get_name());
            for long in c.get_arguments().filter_map(|a| a.get_long()) {
                assert!(page.contains(&format!("--{long}")), "{}: no --{long}", c.get_name());
            }
        }
    }
}

#[test]
fn holds_completions_know_every_command_and_argument() {
    for (name, ..) in written::PACKAGES {
        let all = written::completions(name);
        assert_eq!(all.len(), 3, "bash, zsh, fish");
        for (file, text) in all {
            for c in cli::command().get_subcommands() {
                assert!(text.contains(c.get_name()), "{file}: no {}", c.get_name());
                for long in c.get_arguments().filter_map(|a| a.get_long()) {
                    assert!(text.contains(long), "{file}: {} has no --{long}", c.get_name());
                }
            }
        }
    }
}
