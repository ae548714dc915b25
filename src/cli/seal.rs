//! `idlewright seal`: tickets for a class, and keys to seal them with. No other command makes keys from the system's
//! randomness.

use super::files::{Disk, print, probe, write_all, write_new};
use crate::app::seal::{Request, tickets};
use crate::app::{Error, Files, Sort};
use crate::words::say;
use clap::Args;
use std::path::{Path, PathBuf};

/// Length of a new key \[bytes\], before hexadecimal encoding: that of the hash's output, as RFC 2104 advises.
const KEY_BYTES: usize = 32;

/// Arguments of `seal`.
#[derive(Args)]
pub(super) struct SealArgs {
    #[arg(required_unless_present = "new_key")]
    scenario: Option<String>,
    #[arg(long, value_name = "N", required_unless_present = "new_key")]
    class_seed: Option<u64>,
    #[arg(long, value_name = "FILE", required_unless_present = "new_key")]
    trainees: Option<String>,
    #[arg(long, value_name = "FILE", required_unless_present = "new_key")]
    key: Option<String>,
    #[arg(long, value_name = "DIR", required_unless_present = "new_key")]
    out: Option<PathBuf>,
    #[arg(long, value_name = "FILE", conflicts_with_all = ["scenario", "class_seed", "trainees", "key", "out"])]
    new_key: Option<PathBuf>,
}

/// Runs the command; returns the exit code.
pub(super) fn seal(args: &SealArgs) -> Result<u8, Error> {
    if let Some(path) = &args.new_key {
        new_key(path)?;
        print(&format!("{}\n", say!("seal-new-key", file = path.display().to_string())))?;
        return Ok(0);
    }
    let (Some(scenario), Some(class_seed), Some(trainees), Some(key), Some(out)) =
        (&args.scenario, args.class_seed, &args.trainees, &args.key, &args.out)
    else {
        return Err(Error::rule(say("usage-seal-needs")));
    };
    let files = tickets(&Disk, &Request { scenario, class_seed, trainees, key })?;
    let names: Vec<&str> = files.iter().map(|f| f.0.as_str()).collect();
    probe(out, &names)?;
    for (name, text) in &files {
        let path = out.join(name);
        let there = path.exists().then(|| Disk.read(&path.to_string_lossy(), Sort::Ticket));
        if there.is_some_and(|there| there.as_deref() != Ok(text.as_bytes())) {
            return Err(Error::File(say!("seal-another-ticket", file = path.display().to_string())));
        }
    }
    write_all(out, &files)?;
    print(&format!("{}\n", say!("seal-done", tickets = files.len(), folder = out.display().to_string())))?;
    Ok(0)
}

/// Writes a new key from system randomness into a file that nobody else may read, if the system allows.
fn new_key(path: &Path) -> Result<(), Error> {
    let mut bytes = [0; KEY_BYTES];
    getrandom::fill(&mut bytes).map_err(|e| Error::File(say!("seal-no-randomness", why = e.to_string())))?;
    let text: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
    write_new(path, &format!("{text}\n"), true)
}
