//! Help and error messages for arguments, in the reader's language.
//!
//! The arguments themselves are declared beside the commands that take them. Their descriptions are the messages
//! `help-COMMAND`, `help-COMMAND-ARGUMENT`, and `help-any-ARGUMENT` for one with the same meaning everywhere.

use crate::app::terminal;
use crate::app::version::version;
use crate::words::{Words, say};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Arg, Command, CommandFactory};

/// The command line with its help in the selected language.
pub(super) fn command<C: CommandFactory>() -> Command {
    let mut all = C::command();
    // from here on the arguments that clap adds are present too
    all.build();
    with_help(all, "idlewright").long_version(kept(version()))
}

fn with_help(command: Command, name: &str) -> Command {
    let template =
        format!("{{about-with-newline}}\n{} {{usage}}\n\n{{all-args}}{{after-help}}", say("help-usage"));
    let mut command = command
        .help_template(template)
        .subcommand_help_heading(heading("help-commands"))
        .about(say(&format!("help-{name}")))
        .mut_args(|a| {
            let help = of_argument(name, &a);
            let over = if a.is_positional() { "help-arguments" } else { "help-options" };
            // the message names the default, in the selected language
            a.help(help).help_heading(heading(over)).hide_default_value(true)
        });
    if name == "idlewright" {
        command = command.after_help(say("help-after"));
    }
    command.mut_subcommands(|c| {
        let name = c.get_name().to_owned();
        with_help(c, &name)
    })
}

/// A heading.
fn heading(id: &str) -> &'static str {
    kept(say(id))
}

/// A text that lives until the program ends: clap requires some of these, and there are few.
fn kept(text: String) -> &'static str {
    text.leak()
}

/// The description of a command's argument.
fn of_argument(command: &str, arg: &Arg) -> String {
    let arg = arg.get_id().as_str().replace('_', "-");
    let own = format!("help-{command}-{arg}");
    if Words::english().has(&own) { say(&own) } else { say(&format!("help-any-{arg}")) }
}

/// Prints help, version, or the error in the arguments; returns the exit code.
pub(super) fn tell(e: &clap::Error) -> u8 {
    match complaint(e) {
        Some(said) => terminal::tell(&format!("{said}\n\n{}", say("usage-more"))),
        None => {
            // a closed pipe is not an error here
            let _ = e.print();
        }
    }
    u8::from(e.use_stderr()) * 2
}

/// The error in the arguments; none for help, version and kinds not handled here.
fn complaint(e: &clap::Error) -> Option<String> {
    let of = |kind: ContextKind| match e.get(kind) {
        Some(ContextValue::String(s)) => s.clone(),
        Some(ContextValue::Strings(all)) => all.join(", "),
        _ => String::new(),
    };
    let arg = of(ContextKind::InvalidArg);
    let value = of(ContextKind::InvalidValue);
    let near = [ContextKind::SuggestedArg, ContextKind::SuggestedSubcommand, ContextKind::SuggestedValue]
        .map(of)
        .into_iter()
        .find(|n| !n.is_empty())
        .map_or(String::new(), |n| say!("app-did-you-mean", word = n));
    let said = match e.kind() {
        ErrorKind::UnknownArgument => say!("usage-unknown-argument", arg = arg),
        ErrorKind::InvalidSubcommand => {
            say!("usage-unknown-command", command = of(ContextKind::InvalidSubcommand))
        }
        ErrorKind::InvalidValue if value.is_empty() => say!("usage-value-missing", arg = arg),
        ErrorKind::InvalidValue => {
            say!("usage-value-of", value = value, arg = arg, valid = of(ContextKind::ValidValue))
        }
        ErrorKind::ValueValidation | ErrorKind::InvalidUtf8 => {
            say!("usage-value", value = value, arg = arg)
        }
        ErrorKind::ArgumentConflict => {
            say!("usage-conflict", arg = arg, other = of(ContextKind::PriorArg))
        }
        ErrorKind::MissingRequiredArgument => say!("usage-missing", args = arg),
        ErrorKind::TooManyValues | ErrorKind::TooFewValues | ErrorKind::WrongNumberOfValues => {
            say!("usage-count", arg = arg)
        }
        _ => return None,
    };
    Some(format!("{said}{near}"))
}
