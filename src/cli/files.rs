//! The disk: reading the files that a person names, and writing results.
//!
//! A result may replace only an ordinary file: it keeps that file's permissions, follows links, and never replaces a
//! device, a pipe or anything that is read-only.

use crate::app::load::SCENARIO;
use crate::app::terminal::clean;
use crate::app::{Error, Files, Sort, Unread};
use crate::words::say;
use std::fs::Permissions;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// The disk; relative names start at the working directory.
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

/// The TOML files of a folder and its subfolders, each folder's scenario first; for anything else, the name itself.
pub(super) fn files_of(name: &str) -> Vec<String> {
    let inside = files_in(Path::new(name));
    if inside.is_empty() { vec![name.to_owned()] } else { inside }
}

#[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
fn files_in(folder: &Path) -> Vec<String> {
    let inside = std::fs::read_dir(folder).into_iter().flatten().flatten();
    // a link to a folder is not followed: it may form a loop
    let mut inside: Vec<(bool, PathBuf)> =
        inside.map(|e| (e.file_type().is_ok_and(|t| t.is_dir()), e.path())).collect();
    inside.retain(|(dir, p)| *dir || p.extension().is_some_and(|e| e == "toml"));
    inside.sort_by_key(|(dir, p)| (*dir, !p.ends_with(SCENARIO), p.clone()));
    let files = |(dir, p): &(bool, PathBuf)| if *dir { files_in(p) } else { vec![p.display().to_string()] };
    inside.iter().flat_map(files).collect()
}

/// Prints for a person; it is no error if the reader has closed the pipe, but a full disk is one.
pub(super) fn print(text: &str) -> Result<(), Error> {
    print_data(&clean(text))
}

/// Prints for a program: the text unchanged.
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

/// Creates the folder and checks that it is writable, before anything is simulated.
#[expect(clippy::disallowed_methods, reason = "the command line writes the results that a person asked for")]
pub(super) fn probe(dir: &Path, names: &[&str]) -> Result<(), Error> {
    let folder = dir.display().to_string();
    std::fs::create_dir_all(dir).map_err(|e| {
        Error::File(say!("file-cannot-make-folder", folder = folder.as_str(), why = e.to_string()))
    })?;
    for path in names.iter().map(|name| dir.join(name)) {
        place(&path)?;
    }
    Part::beside(&dir.join("probe"), None, b"").map(drop).map_err(|e| {
        Error::File(say!("file-cannot-write-into", folder = folder.as_str(), why = e.to_string()))
    })
}

/// Refuses a folder that holds such a file already: an earlier attempt's work is not written over unasked.
pub(super) fn no_earlier(dir: &Path, name: &str) -> Result<(), Error> {
    if dir.join(name).exists() {
        return Err(Error::File(say!("file-earlier", file = dir.join(name).display().to_string())));
    }
    Ok(())
}

/// Refuses a file that is there already, unless it may be written over.
pub(super) fn not_there(file: &Path, force: bool) -> Result<(), Error> {
    if !force && file.exists() {
        return Err(Error::File(say!("file-is-there-force", file = file.display().to_string())));
    }
    Ok(())
}

/// Checks that a file can be written, before anything is simulated.
pub(super) fn room_for(file: &Path) -> Result<(), Error> {
    let (dir, name) = apart(file)?;
    probe(dir, &[name])
}

/// Splits a path to write into folder and file name.
pub(super) fn apart(path: &Path) -> Result<(&Path, &str), Error> {
    let dir = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match path.file_name().and_then(|n| n.to_str()) {
        Some(name) => Ok((dir, name)),
        None => Err(cannot_write(path, say("file-no-name"))),
    }
}

/// Writes every file next to its destination first, and moves them into place once all are complete: no file is
/// half-written, and a full disk leaves all earlier files untouched.
#[expect(clippy::disallowed_methods, reason = "the command line writes the results that a person asked for")]
pub(super) fn write_all<N: AsRef<str>>(dir: &Path, files: &[(N, impl AsRef<[u8]>)]) -> Result<(), Error> {
    let folder = dir.display().to_string();
    std::fs::create_dir_all(dir)
        .map_err(|e| Error::File(say!("file-cannot-write-folder", folder = folder, why = e.to_string())))?;
    let mut parts = Vec::new();
    for (name, bytes) in files {
        let path = dir.join(name.as_ref());
        let (at, mode) = place(&path)?;
        let part = Part::beside(&at, mode, bytes.as_ref()).map_err(|e| cannot_write(&path, e.to_string()))?;
        parts.push((path, at, part));
    }
    for (path, at, part) in parts {
        part.moved_to(&at).map_err(|e| cannot_write(&path, e.to_string()))?;
    }
    Ok(())
}

/// The destination of a file, with links resolved, and the permissions of the existing file; refuses anything that is
/// not an ordinary file, and a file that may not be written.
fn place(path: &Path) -> Result<(PathBuf, Option<Permissions>), Error> {
    let meta = match std::fs::metadata(path) {
        Ok(meta) => meta,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok((path.into(), None)),
        Err(e) => return Err(cannot_write(path, e.to_string())),
    };
    let why = match () {
        () if meta.is_dir() => "file-is-a-folder",
        () if !meta.is_file() => "file-not-ordinary",
        () if meta.permissions().readonly() => "file-read-only",
        () => {
            let at = path.canonicalize().map_err(|e| cannot_write(path, e.to_string()))?;
            return Ok((at, Some(meta.permissions())));
        }
    };
    Err(cannot_write(path, say(why)))
}

/// A file that is being written next to its destination; removed again unless it was moved there.
struct Part(PathBuf);

impl Part {
    /// Writes it under a name that does not exist yet, so that no existing link is followed.
    #[expect(
        clippy::disallowed_methods,
        reason = "the command line writes the results that a person asked for"
    )]
    fn beside(path: &Path, mode: Option<Permissions>, bytes: &[u8]) -> std::io::Result<Part> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let (part, mut file) = loop {
            let nth = COUNT.fetch_add(1, Ordering::Relaxed);
            let part = path.with_file_name(format!(".{name}.{}.{nth}.part", std::process::id()));
            match std::fs::OpenOptions::new().write(true).create_new(true).open(&part) {
                Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {}
                opened => break (Part(part), opened?),
            }
        };
        if let Some(mode) = mode {
            file.set_permissions(mode)?;
        }
        file.write_all(bytes)?;
        Ok(part)
    }
    #[expect(
        clippy::disallowed_methods,
        reason = "the command line writes the results that a person asked for"
    )]
    fn moved_to(mut self, path: &Path) -> std::io::Result<()> {
        std::fs::rename(&self.0, path)?;
        self.0 = PathBuf::new();
        Ok(())
    }
}

impl Drop for Part {
    #[expect(clippy::disallowed_methods, reason = "half a file is worse than none")]
    fn drop(&mut self) {
        if !self.0.as_os_str().is_empty() {
            let _ = std::fs::remove_file(&self.0);
        }
    }
}

/// Writes one file.
pub(super) fn write_one(path: &Path, bytes: impl AsRef<[u8]>) -> Result<(), Error> {
    let (dir, name) = apart(path)?;
    write_all(dir, &[(name, bytes)])
}

/// Writes a new file, never over an existing one; a private one is readable by its owner alone, if the system allows.
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
        // an incomplete file is worse than none
        let _ = std::fs::remove_file(path);
        fail(e)
    })
}
