//! Writes what a package holds beside the programs: manual pages, completions of three shells, licences of what is
//! linked in, and a bill of materials. `packaging/build.sh` calls it:
//! `cargo run --release --no-default-features --example packaging -- FOLDER TARGET`.
//!
//! Pages and completions come from the program's own command line, so they say what its help says.
//! `tests/files/packaging.rs` reads this file too.
#![expect(clippy::disallowed_methods, reason = "the files of a package are written, and licences read")]

use clap_complete::Shell;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

/// A package, and the package of the workspace whose program it holds.
pub const PACKAGES: [(&str, &str, bool); 2] =
    [("idlewright", "idlewright-window", true), ("idlewright-headless", "idlewright", false)];

fn main() {
    let mut args = std::env::args().skip(1);
    let (Some(folder), Some(target)) = (args.next(), args.next()) else {
        eprintln!("usage: packaging FOLDER TARGET");
        std::process::exit(2);
    };
    for (name, package, window) in PACKAGES {
        let linked = Linked::of(package, window, &target);
        let doc = format!("share/doc/{name}");
        let more = [
            (format!("{doc}/third-party.txt"), linked.licences()),
            (format!("{name}.cdx.json"), linked.bill(name, &target)),
        ];
        for (file, text) in pages(name).into_iter().chain(completions(name)).chain(more) {
            let path = Path::new(&folder).join(name).join(&file);
            let parent = path.parent().expect("a file lies in a folder");
            std::fs::create_dir_all(parent)
                .and_then(|()| std::fs::write(&path, text))
                .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        }
    }
}

/// The command line of a program that has this name.
fn command(name: &'static str) -> clap::Command {
    let all = idlewright::cli::command().name(name).bin_name(name).display_name(name);
    all.mut_subcommands(|c| {
        let own = c.get_name().to_owned();
        c.display_name(format!("{name}-{own}")).bin_name(format!("{name} {own}"))
    })
}

/// Manual pages: one for the program, one for each command, by their place in a package.
pub fn pages(name: &'static str) -> Vec<(String, String)> {
    // hashes of the build are too long to be set in a line, and `--version` tells them
    let all = command(name).version(env!("CARGO_PKG_VERSION")).long_version(None);
    let commands = all.get_subcommands().filter(|c| c.get_name() != "help").cloned();
    let page = |c: clap::Command| {
        let file = c.get_display_name().unwrap_or(name).to_owned();
        let mut text = Vec::new();
        clap_mangen::Man::new(c).render(&mut text).expect("writing into memory");
        (format!("share/man/man1/{file}.1"), String::from_utf8(text).expect("UTF-8"))
    };
    std::iter::once(all.clone()).chain(commands).map(page).collect()
}

/// Completions, by their place in a package.
pub fn completions(name: &'static str) -> Vec<(String, String)> {
    let of = |shell, file: String| {
        let mut text = Vec::new();
        clap_complete::generate(shell, &mut command(name), name, &mut text);
        (file, String::from_utf8(text).expect("UTF-8"))
    };
    vec![
        of(Shell::Bash, format!("share/bash-completion/completions/{name}")),
        of(Shell::Zsh, format!("share/zsh/vendor-completions/_{name}")),
        of(Shell::Fish, format!("share/fish/vendor_completions.d/{name}.fish")),
    ]
}

/// What a program is linked from, beside this workspace's own packages: cargo's word for each.
struct Linked(Vec<Value>);

impl Linked {
    /// Everything that is reached from a package by what its program needs; not what only builds or tests it.
    fn of(package: &str, window: bool, target: &str) -> Self {
        let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
        cargo.args(["metadata", "--format-version", "1", "--locked", "--filter-platform", target]);
        if !window {
            cargo.args(["--no-default-features", "--features", "idlewright/class"]);
        }
        let ran = cargo.output().unwrap_or_else(|e| panic!("cargo metadata: {e}"));
        assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
        let all: Value = serde_json::from_slice(&ran.stdout).expect("JSON from cargo");
        let list = |v: &Value| v.as_array().cloned().unwrap_or_default();
        let packages = list(&all["packages"]);
        let nodes: BTreeMap<String, Value> = list(&all["resolve"]["nodes"])
            .into_iter()
            .map(|n| (n["id"].as_str().expect("an id").to_owned(), n))
            .collect();
        let root = packages.iter().find(|p| p["name"] == package).expect("a package of the workspace");
        let mut reached = BTreeSet::new();
        let mut next = vec![root["id"].as_str().expect("an id").to_owned()];
        while let Some(id) = next.pop() {
            if !reached.insert(id.clone()) {
                continue;
            }
            for dep in list(&nodes[&id]["deps"]) {
                if list(&dep["dep_kinds"]).iter().any(|k| k["kind"].is_null()) {
                    next.push(dep["pkg"].as_str().expect("an id").to_owned());
                }
            }
        }
        let foreign = |p: &Value| p["source"].is_string() && reached.contains(p["id"].as_str().unwrap_or(""));
        Self(packages.into_iter().filter(foreign).collect())
    }

    /// Who made what, under which licence, with the texts of the licences: each text once.
    fn licences(&self) -> String {
        let mut out = String::from("What this program is linked from, and the licences of each.\n\n");
        let mut texts: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for p in &self.0 {
            let of = |key: &str| p[key].as_str().unwrap_or("?").to_owned();
            let named = format!("{} {}", of("name"), of("version"));
            let by: Vec<&str> =
                p["authors"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
            let by = if by.is_empty() { String::new() } else { format!(" ({})", by.join(", ")) };
            out += &format!("{named}: {}{by}\n", of("license"));
            for text in texts_beside(Path::new(&of("manifest_path"))) {
                texts.entry(text).or_default().push(named.clone());
            }
        }
        for (text, of) in texts {
            out += &format!("\n{}\n{}\n\n{}\n", "-".repeat(80), of.join(", "), text.trim_end());
        }
        out
    }

    /// The bill of materials, in the form of CycloneDX 1.5.
    fn bill(&self, name: &str, target: &str) -> String {
        let part = |p: &Value| {
            let (name, version) = (p["name"].as_str().unwrap_or("?"), p["version"].as_str().unwrap_or("?"));
            let purl = format!("pkg:cargo/{name}@{version}");
            json!({
                "type": "library", "bom-ref": purl, "name": name, "version": version, "purl": purl,
                "licenses": [{ "expression": p["license"].as_str().unwrap_or("NOASSERTION").replace('/', " OR ") }],
            })
        };
        let bill = json!({
            "bomFormat": "CycloneDX",
            "specVersion": "1.5",
            "version": 1,
            "metadata": {
                "component": {
                    "type": "application", "name": name, "version": env!("CARGO_PKG_VERSION"),
                    "licenses": [{ "expression": "MIT" }],
                },
                "properties": [{ "name": "target", "value": target }],
            },
            "components": self.0.iter().map(part).collect::<Vec<_>>(),
        });
        format!("{bill:#}\n")
    }
}

/// The licence texts that lie beside a manifest, with plain line ends.
fn texts_beside(manifest: &Path) -> Vec<String> {
    let Some(Ok(inside)) = manifest.parent().map(std::fs::read_dir) else { return Vec::new() };
    let mut files: Vec<_> = inside.flatten().map(|e| e.path()).filter(|p| p.is_file()).collect();
    files.sort();
    let is_one = |p: &std::path::PathBuf| {
        let name = p.file_name().map(|n| n.to_string_lossy().to_uppercase()).unwrap_or_default();
        ["LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE", "COPYRIGHT"]
            .iter()
            .any(|w| name.starts_with(w))
    };
    let text = |p: std::path::PathBuf| std::fs::read(p).ok();
    let plain = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).replace('\r', "");
    files.into_iter().filter(is_one).filter_map(text).map(plain).collect()
}
