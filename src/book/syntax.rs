//! Why a line is not YAML, told from the line itself and not from a parser's words for it.

use serde::{Deserialize, Serialize};

use super::lexical::{PieceKind, Pieces};

/// What is wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Syntax {
    /// A quote is opened and nothing on the line closes it.
    OpenQuote,
    /// Text stands behind a closing quote.
    AfterQuote,
    /// A bracket is opened and not closed.
    OpenBracket,
    /// A bracket is closed that was never opened.
    StrayBracket,
    /// There is no colon, so no key.
    NoKey,
    /// A colon without a space behind it.
    NoSpace {
        /// What stands before the colon.
        key: String,
        /// What stands behind it.
        value: String,
    },
    /// `*name` where no `&name` is.
    UnknownAlias {
        /// The name.
        name: String,
    },
    /// A value begins with a character that YAML keeps for itself.
    Reserved {
        /// The character.
        first: char,
    },
    /// A `#` within brackets, which begins a comment and hides what follows.
    Hash,
    /// Two entries in brackets without a comma between them.
    NoComma {
        /// The key of the second.
        key: String,
    },
    /// The line is sound by itself and stands at the wrong indent.
    Indent,
    /// The record as a whole cannot be read, and no line can be named.
    Whole,
}

/// What is wrong with a line that a parser stopped at.
pub fn diagnose(line: &str) -> Syntax {
    let mut depth = 0_i32;
    let mut quoted_to = None;
    let mut colon = false;
    for piece in Pieces::of(line) {
        if quoted_to.take().is_some_and(|end: usize| !line.get(end..piece.at).unwrap_or_default().trim().is_empty()) {
            return Syntax::AfterQuote;
        }
        match piece.kind {
            PieceKind::Open => depth += 1,
            PieceKind::Close => depth -= 1,
            PieceKind::Colon => colon = true,
            PieceKind::Quoted => quoted_to = Some(piece.end),
            PieceKind::QuoteOpen => return Syntax::OpenQuote,
            PieceKind::Comma => {}
        }
        if depth < 0 {
            return Syntax::StrayBracket;
        }
    }
    let rest = quoted_to.and_then(|end| line.get(end..)).unwrap_or_default().trim();
    if !rest.is_empty() && !rest.starts_with('#') {
        return Syntax::AfterQuote;
    }
    if depth > 0 {
        return if line.contains(" #") { Syntax::Hash } else { Syntax::OpenBracket };
    }
    let bare = line.trim_start_matches([' ', '-', '\t']).trim_end();
    if colon && !bare.starts_with(':') {
        let value = line.split_once(": ").map_or("", |(_, value)| value.trim_start());
        let first = value.chars().next().filter(|first| matches!(first, '@' | '`' | '%' | '*' | '&' | '!' | '|' | '>'));
        return first.map_or(Syntax::Indent, |first| Syntax::Reserved { first });
    }
    match bare.split_once(':') {
        Some((key, value)) if !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_') => {
            Syntax::NoSpace { key: key.to_owned(), value: value.to_owned() }
        }
        _ => Syntax::NoKey,
    }
}
