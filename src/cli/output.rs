//! Where text goes, and what the terminal can take.

use std::io::{IsTerminal, Write};
use std::path::Path;

use super::{Exit, Failure, explain, relative_to};
use crate::book::{Book, Unread};
use crate::lsp::uri;
use crate::render::{Look, linked, one_line};
use crate::rules;

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Colour {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// When files and rules are links that the terminal can follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Hyperlinks {
    /// On a terminal that is known to have them, and not through ssh, where the files are not the terminal's.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// How many files that could not be opened are named.
const MOST_UNREAD: usize = 8;

/// Columns where there is no terminal to ask and `COLUMNS` is not set.
const WIDTH_WITHOUT_TERMINAL: usize = 100;

/// Standard output and standard error, with what they can take.
pub struct Screen {
    colour: Colour,
    hyperlinks: Hyperlinks,
    broken: bool,
    failed: bool,
}

impl Screen {
    /// Looks at nothing yet; asks the terminal when something is to be shown.
    pub fn new(colour: Colour, hyperlinks: Hyperlinks) -> Self {
        Screen { colour, hyperlinks, broken: false, failed: false }
    }

    /// How findings are to look on standard output.
    pub fn look(&self) -> Look {
        let terminal = self.is_terminal();
        let of_terminal = if terminal { terminal_size::terminal_size().map(|(width, _)| usize::from(width.0)) } else { None };
        let width = of_terminal.or_else(|| std::env::var("COLUMNS").ok()?.parse().ok());
        let no_colour = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let colour = match self.colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => terminal && !no_colour && !dumb,
        };
        Look { width: width.unwrap_or(WIDTH_WITHOUT_TERMINAL).clamp(40, 120), colour }
    }

    /// Whether standard output is a terminal.
    pub fn is_terminal(&self) -> bool {
        std::io::stdout().is_terminal()
    }

    /// Whether somebody is watching standard error.
    pub fn is_watched(&self) -> bool {
        std::io::stderr().is_terminal()
    }

    /// Writes to standard output. A reader that went away is no failure; a full disk is.
    pub fn print(&mut self, text: &str) {
        if self.broken {
            return;
        }
        let mut out = std::io::stdout().lock();
        if let Err(error) = out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            self.broken = true;
            self.failed = error.kind() != std::io::ErrorKind::BrokenPipe;
        }
    }

    /// Writes text for people about the book at `root` to standard output: its files, and the rules it names, are links where the
    /// terminal has them.
    pub fn print_about(&mut self, root: &Path, text: &str) {
        let wanted = match self.hyperlinks {
            Hyperlinks::Always => true,
            Hyperlinks::Never => false,
            Hyperlinks::Auto => {
                let through_ssh = ["SSH_CONNECTION", "SSH_TTY"].iter().any(|name| std::env::var_os(name).is_some());
                self.is_terminal() && !through_ssh && supports_hyperlinks::on(supports_hyperlinks::Stream::Stdout)
            }
        };
        if !wanted {
            return self.print(text);
        }
        let rules_page = explain::rules_page().map(|page| uri::of_path(&page).0);
        let address = |word: &str| {
            if let Some(rule) = rules::by_id(word) {
                return Some(format!("{}#{}", rules_page.as_ref()?, rule.id));
            }
            // No link leads out of the book or to what is private, whatever a record names.
            let file = root.join(word);
            let is_of_book =
                word.contains('.') && relative_to(root, &file).is_some_and(|inner| inner == word && !inner.starts_with("private/"));
            (is_of_book && file.is_file()).then(|| uri::of_path(&file).0)
        };
        self.print(&linked(text, &address));
    }

    /// Whether nobody takes what is written to standard output any more.
    pub fn is_closed(&self) -> bool {
        self.broken
    }

    /// Says something to a person on standard error.
    pub fn note(&mut self, text: &str) {
        let _ = writeln!(std::io::stderr().lock(), "ampledger: {text}");
    }

    /// Tells what the answer that was printed lacks, because it could not be opened; `exit` stands only when it lacks nothing. Of an answer
    /// about some of the sites, `sites`, nothing else is told; none means all.
    pub fn but_for_unread(&mut self, book: &Book, sites: &[String], exit: Exit) -> Exit {
        let mut unread = book.unread();
        unread.retain(|unread| {
            let site = unread.path.strip_prefix("sites/").and_then(|inner| inner.split('/').next());
            sites.is_empty() || site.is_none_or(|site| sites.iter().any(|wanted| wanted == site))
        });
        if unread.is_empty() {
            return exit;
        }
        let of_them = |Unread { path, why }: &Unread| format!("{}: {}", one_line(path), one_line(why));
        let mut lines: Vec<String> = unread.iter().take(MOST_UNREAD).map(of_them).collect();
        if unread.len() > MOST_UNREAD {
            lines.push(format!("and {} more; `ampledger check` lists them", unread.len() - MOST_UNREAD));
        }
        self.fail(&Failure { message: "left out, since it could not be opened".to_owned(), help: lines.join("\n  ") });
        Exit::Failed
    }

    /// Writes what went wrong to standard error.
    pub fn fail(&mut self, failure: &Failure) {
        let mut out = std::io::stderr().lock();
        let _ = writeln!(out, "ampledger: {}", failure.message);
        if !failure.help.is_empty() {
            let _ = writeln!(out, "  {}", failure.help);
        }
    }

    /// The exit status, unless the output could not be written.
    pub fn finish(&mut self, exit: Exit) -> Exit {
        if self.failed {
            self.fail(&Failure { message: "the output could not be written".to_owned(), help: String::new() });
            return Exit::Failed;
        }
        exit
    }
}
