//! `idlewright class`: its arguments. *Outside*: opening the class (the room `class`, if it was built in).

#[cfg(feature = "class")]
use super::files::print;
#[cfg(feature = "class")]
use super::tell::asked_to_end;
use crate::app::Error;
#[cfg(feature = "class")]
use crate::app::terminal;
#[cfg(feature = "class")]
use crate::class::{Config, keep, open};
use crate::words::say;
use clap::Args;
#[cfg(feature = "class")]
use std::path::Path;
use std::path::PathBuf;

#[derive(Args)]
pub(super) struct ClassArgs {
    folder: PathBuf,
    #[arg(long)]
    lan: bool,
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<String>,
    #[arg(long, value_name = "WORD")]
    word: Option<String>,
    #[arg(long, value_name = "SCENARIO")]
    lesson: Option<String>,
    #[arg(long, value_name = "FILE", requires = "key")]
    cert: Option<PathBuf>,
    #[arg(long, value_name = "FILE", requires = "cert")]
    key: Option<PathBuf>,
    #[arg(long, value_name = "PATH", default_value = "")]
    base_path: String,
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=2000), default_value = "240")]
    seats: u16,
    #[arg(long, value_name = "PORT", value_parser = clap::value_parser!(u16).range(1..))]
    testers: Option<u16>,
    #[arg(long)]
    new_link: bool,
    #[arg(long, conflicts_with_all = ["lan", "listen", "new_link"])]
    delete: bool,
    #[arg(long, requires = "delete")]
    yes: bool,
    #[arg(long, value_name = "N", value_delimiter = ',', conflicts_with_all = ["lan", "listen", "new_link", "delete"])]
    rehearse: Vec<u16>,
    #[arg(long, value_name = "SECONDS", default_value = "60", requires = "rehearse")]
    seconds: u16,
}

/// Reports that this build has no classes.
#[cfg(not(feature = "class"))]
pub(super) fn class(_: &ClassArgs) -> Result<u8, Error> {
    Err(Error::rule(say("class-not-built")))
}

/// Asks for the folder's name: what is deleted with a class cannot be brought back.
#[cfg(feature = "class")]
fn confirmed(folder: &Path) -> Result<(), Error> {
    let shown = folder.display().to_string();
    keep::is_class(folder)?;
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.into());
    let name = whole.file_name().map_or_else(|| shown.clone(), |n| n.to_string_lossy().into_owned());
    terminal::tell(&say!("class-delete-asks", folder = shown.as_str(), name = name.as_str()));
    let mut typed = String::new();
    // who cannot be asked has not agreed
    let _ = std::io::stdin().read_line(&mut typed);
    if typed.trim() == name {
        return Ok(());
    }
    Err(Error::rule(say!("class-delete-kept", folder = shown.as_str())))
}

/// Runs the command; returns the exit code.
#[cfg(feature = "class")]
pub(super) fn class(args: &ClassArgs) -> Result<u8, Error> {
    if args.delete {
        if !args.yes {
            confirmed(&args.folder)?;
        }
        keep::delete_class(&args.folder)?;
        print(&format!("{}\n", say!("class-deleted", folder = args.folder.display().to_string())))?;
        return Ok(0);
    }
    let config = Config {
        folder: args.folder.clone(),
        listen: args.listen.clone(),
        lan: args.lan,
        word: args.word.clone(),
        certificate: args.cert.clone().zip(args.key.clone()),
        base: args.base_path.clone(),
        new_link: args.new_link,
        lesson: args.lesson.clone(),
        seats: args.seats.into(),
        testers: args.testers,
    };
    if !args.rehearse.is_empty() {
        let seats: Vec<usize> = args.rehearse.iter().map(|n| usize::from(*n).max(1)).collect();
        open::rehearse(&config, &seats, f64::from(args.seconds), &print)?;
        return Ok(0);
    }
    open::run(&config, &asked_to_end(), &print)?;
    Ok(0)
}
