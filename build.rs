//! Names this build by everything that its answers hang on: the sources with their tables, the libraries, the compiler and the target. What
//! another build has kept is never taken for its own.

use std::collections::hash_map::DefaultHasher;
use std::fs;
use std::hash::{Hash, Hasher};
use std::path::{Path, PathBuf};
use std::process::Command;

fn main() {
    let mut hasher = DefaultHasher::new();
    for path in ["src", "Cargo.toml", "Cargo.lock", "build.rs"] {
        println!("cargo::rerun-if-changed={path}");
        take(Path::new(path), &mut hasher);
    }
    let compiler = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    Command::new(compiler).arg("-vV").output().map(|said| said.stdout).unwrap_or_default().hash(&mut hasher);
    for (name, value) in std::env::vars() {
        if name.starts_with("CARGO_FEATURE_") || ["TARGET", "PROFILE", "OPT_LEVEL"].contains(&name.as_str()) {
            (name, value).hash(&mut hasher);
        }
    }
    println!("cargo::rustc-env=AMPLEDGER_BUILD={:016x}", hasher.finish());
}

/// Takes in a file, or every file of a folder in order of their names.
fn take(path: &Path, hasher: &mut DefaultHasher) {
    path.hash(hasher);
    if path.is_dir() {
        let mut inner: Vec<PathBuf> = fs::read_dir(path).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
        inner.sort();
        inner.iter().for_each(|path| take(path, hasher));
    } else {
        fs::read(path).unwrap_or_default().hash(hasher);
    }
}
