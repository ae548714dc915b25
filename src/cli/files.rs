//! The disk: files that a person names are read, and results written.

use crate::app::load::SCENARIO;
use crate::app::terminal::clean;
use crate::app::{Error, Files, Sort, Unread};
use crate::words::say;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// The disk, from the folder that the program was started in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Disk;

impl Files for Disk {
    fn has(&self, name: &str) -> bool {
        Path::new(name).is_file()
    }
    #[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
    fn read(&self, name: &str, sort: Sort) -> Result<Vec<u8>, Unread> {
        let fail = |e: std::io::Error| Unread::System(e.to_string());
        let meta = std::fs::metadata(name).map_err(fail)?;
        if !meta.is_file() {
            return Err(Unread::NoFile);
        }
        if meta.len() > sort.most() {
            return Err(Unread::TooLarge);
        }
        let mut bytes = Vec::new();
        std::fs::File::open(name).and_then(|f| f.take(sort.most()).read_to_end(&mut bytes)).map_err(fail)?;
        Ok(bytes)
    }
    fn beside(&self, name: &str) -> Option<PathBuf> {
        let parent = Path::new(name).parent()?;
        Some(if parent.as_os_str().is_empty() { PathBuf::from(".") } else { parent.into() })
    }
}

/// The TOML files of a folder and of those in it, each folder's scenario first; of anything else its name.
pub(super) fn files_of(name: &str) -> Vec<String> {
    let inside = files_in(Path::new(name));
    if inside.is_empty() { vec![name.to_owned()] } else { inside }
}

#[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
fn files_in(folder: &Path) -> Vec<String> {
    let inside = std::fs::read_dir(folder).into_iter().flatten().flatten();
    // a link to a folder is not followed: it may lead in a circle
    let mut inside: Vec<(bool, PathBuf)> =
        inside.map(|e| (e.file_type().is_ok_and(|t| t.is_dir()), e.path())).collect();
    inside.retain(|(dir, p)| *dir || p.extension().is_some_and(|e| e == "toml"));
    inside.sort_by_key(|(dir, p)| (*dir, !p.ends_with(SCENARIO), p.clone()));
    let files = |(dir, p): &(bool, PathBuf)| if *dir { files_in(p) } else { vec![p.display().to_string()] };
    inside.iter().flat_map(files).collect()
}

/// Prints for a person; a reader who has gone is nobody's trouble, a full disk is.
pub(super) fn print(text: &str) -> Result<(), Error> {
    print_data(&clean(text))
}

/// The same for a program, as it stands.
pub(super) fn print_data(text: &str) -> Result<(), Error> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Error::File(say!("file-no-output", why = e.to_string())))
        }
        _ => Ok(()),
    }
}

fn cannot_write(path: &Path, why: String) -> Error {
    Error::File(say!("file-cannot-write", file = path.display().to_string(), why = why))
}

/// Makes the folder and sees that it can be written, before anything is simulated.
#[expect(clippy::disallowed_methods, reason = "the command line writes the results that a person asked for")]
pub(super) fn probe(dir: &Path, names: &[&str]) -> Result<(), Error> {
    let folder = dir.display().to_string();
    std::fs::create_dir_all(dir).map_err(|e| {
        Error::File(say!("file-cannot-make-folder", folder = folder.as_str(), why = e.to_string()))
    })?;
    for path in names.iter().map(|name| dir.join(name)) {
        if path.is_dir() {
            return Err(cannot_write(&path, say("file-is-a-folder")));
        }
    }
    let part = dir.join(format!(".probe.{}.part", std::process::id()));
    std::fs::write(&part, "").and_then(|()| std::fs::remove_file(&part)).map_err(|e| {
        Error::File(say!("file-cannot-write-into", folder = folder.as_str(), why = e.to_string()))
    })
}

/// Sees that a file can be written, before anything is simulated.
pub(super) fn room_for(file: &Path) -> Result<(), Error> {
    let (dir, name) = apart(file)?;
    probe(dir, &[name])
}

/// Folder and name of a file to write.
pub(super) fn apart(path: &Path) -> Result<(&Path, &str), Error> {
    let dir = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match path.file_name().and_then(|n| n.to_str()) {
        Some(name) => Ok((dir, name)),
        None => Err(cannot_write(path, say("file-no-name"))),
    }
}

/// Writes every file beside its place first and moves it there when whole, so that none is half-written.
#[expect(clippy::disallowed_methods, reason = "the command line writes the results that a person asked for")]
pub(super) fn write_all<N: AsRef<str>>(dir: &Path, files: &[(N, String)]) -> Result<(), Error> {
    let folder = dir.display().to_string();
    std::fs::create_dir_all(dir)
        .map_err(|e| Error::File(say!("file-cannot-write-folder", folder = folder, why = e.to_string())))?;
    for (name, text) in files {
        let name = name.as_ref();
        let path = dir.join(name);
        let part = dir.join(format!(".{name}.{}.part", std::process::id()));
        if let Err(e) = std::fs::write(&part, text).and_then(|()| std::fs::rename(&part, &path)) {
            let _ = std::fs::remove_file(&part);
            return Err(cannot_write(&path, e.to_string()));
        }
    }
    Ok(())
}

/// Writes one file.
pub(super) fn write_one(path: &Path, text: String) -> Result<(), Error> {
    let (dir, name) = apart(path)?;
    write_all(dir, &[(name, text)])
}

/// Writes a file where nothing is yet; a private one is readable by its owner alone, where the system has it so.
#[expect(clippy::disallowed_methods, reason = "the command line writes the file that a person asked for")]
pub(super) fn write_new(path: &Path, text: &str, private: bool) -> Result<(), Error> {
    let fail = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            let id = if private { "file-key-is-there" } else { "file-is-there" };
            Error::File(say!(id, file = path.display().to_string()))
        }
        _ => cannot_write(path, e.to_string()),
    };
    let mut open = std::fs::OpenOptions::new();
    open.write(true).create_new(true);
    #[cfg(unix)]
    if private {
        std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    }
    let mut file = open.open(path).map_err(fail)?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(|e| {
        // half a file is worse than none
        let _ = std::fs::remove_file(path);
        fail(e)
    })
}
