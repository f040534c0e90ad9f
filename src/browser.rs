//! A page into a PDF, by a browser of the Chromium family that the machine has already: one layout, tagged for screen readers.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

/// The programs that are looked for, in this order.
pub const PROGRAMS: [&str; 5] = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"];

/// How long a page may take.
const PATIENCE: Duration = Duration::from_secs(90);
const GLANCE: Duration = Duration::from_millis(50);

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BrowserError {
    /// None of the programs is on the machine.
    NotFound,
    /// The program that was named is not there.
    NoSuchProgram(PathBuf),
    /// It could not be begun, or its files could not be written.
    Refused(String),
    /// It did not come to an end.
    TooSlow,
    /// It ended without a PDF.
    NoPdf,
}

impl std::fmt::Display for BrowserError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            BrowserError::NotFound => write!(f, "no browser to make a PDF with: none of {} is here", PROGRAMS.join(", ")),
            BrowserError::NoSuchProgram(path) => write!(f, "there is no program {}", path.display()),
            BrowserError::Refused(why) => write!(f, "the browser could not be run: {why}"),
            BrowserError::TooSlow => write!(f, "the browser made no PDF in {} seconds and was stopped", PATIENCE.as_secs()),
            BrowserError::NoPdf => f.write_str("the browser ended without making a PDF"),
        }
    }
}

impl std::error::Error for BrowserError {}

/// The browser to use: the one named, or the first of [`PROGRAMS`] in the folders of `path`, written as the variable PATH is.
pub fn find(named: Option<&Path>, path: Option<&OsStr>) -> Result<PathBuf, BrowserError> {
    let folders: Vec<PathBuf> = path.map(|path| std::env::split_paths(path).collect()).unwrap_or_default();
    let on_path = |program: &Path| folders.iter().map(|folder| folder.join(program)).find(|file| file.is_file());
    match named {
        Some(named) if named.components().count() > 1 || named.is_absolute() => {
            named.is_file().then(|| named.to_owned()).ok_or_else(|| BrowserError::NoSuchProgram(named.to_owned()))
        }
        Some(named) => on_path(named).ok_or_else(|| BrowserError::NoSuchProgram(named.to_owned())),
        None => PROGRAMS.iter().find_map(|program| on_path(Path::new(program))).ok_or(BrowserError::NotFound),
    }
}

/// Prints a page, in a folder and with a profile of its own that are gone afterwards. The page must need nothing from the network.
pub fn print_to_pdf(browser: &Path, html: &str) -> Result<Vec<u8>, BrowserError> {
    let refused = |error: std::io::Error| BrowserError::Refused(crate::system::why(&error));
    let folder = tempfile::tempdir().map_err(refused)?;
    let page = folder.path().join("page.html");
    let pdf = folder.path().join("page.pdf");
    std::fs::write(&page, html).map_err(refused)?;
    let mut command = Command::new(browser);
    command.args([
        "--headless",
        "--disable-gpu",
        "--no-first-run",
        "--no-default-browser-check",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--disable-extensions",
        "--no-pdf-header-footer",
        "--generate-pdf-document-outline",
    ]);
    if is_root(folder.path()) {
        // A browser refuses its sandbox to root.
        command.arg("--no-sandbox");
    }
    command.arg(with_path("--user-data-dir=", &folder.path().join("profile")));
    command.arg(with_path("--print-to-pdf=", &pdf));
    command.arg(with_path("file://", &page));
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = command.spawn().map_err(refused)?;
    let mut waited = Duration::ZERO;
    loop {
        match child.try_wait().map_err(refused)? {
            Some(_) => break,
            None if waited >= PATIENCE => {
                let _ = child.kill();
                let _ = child.wait();
                return Err(BrowserError::TooSlow);
            }
            None => {
                std::thread::sleep(GLANCE);
                waited += GLANCE;
            }
        }
    }
    let bytes = std::fs::read(&pdf).map_err(|_| BrowserError::NoPdf)?;
    if bytes.starts_with(b"%PDF-") { Ok(bytes) } else { Err(BrowserError::NoPdf) }
}

fn with_path(option: &str, path: &Path) -> std::ffi::OsString {
    let mut text = std::ffi::OsString::from(option);
    text.push(path);
    text
}

/// Whether this program runs as root: whoever runs it owns the folder that it has just made.
#[cfg(unix)]
fn is_root(own_folder: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(own_folder).is_ok_and(|data| data.uid() == 0)
}

#[cfg(not(unix))]
fn is_root(_: &Path) -> bool {
    false
}
