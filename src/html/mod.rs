//! What every HTML page of the program shares: the shell of a self-contained document, its typography, and the safe rendering of text
//! that a record holds. No script, nothing remote.

use std::fmt::Write as _;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use pulldown_cmark::{CowStr, Event, HeadingLevel, Options, Parser, Tag, TagEnd};

use crate::render::is_steering;

/// Typography, colours and tables, for the screen and for paper.
pub const BASE_CSS: &str = include_str!("base.css");

/// A whole document. `css` stands after the base style; it must hold no text of a record that [`css_string`] has not made harmless.
pub fn document(language: &str, title: &str, css: &str, body: &Markup) -> String {
    let style = format!("{BASE_CSS}\n{css}");
    page(language, title, "style-src 'unsafe-inline'; img-src data:", &html! { style { (PreEscaped(style)) } }, body)
}

/// A page that may have what `allows` says, in the words of a content security policy, and nothing else. `head` stands at the end of its
/// head.
pub fn page(language: &str, title: &str, allows: &str, head: &Markup, body: &Markup) -> String {
    let policy = format!("default-src 'none'; {allows}; base-uri 'none'; form-action 'none'");
    let page = html! {
        (DOCTYPE)
        html lang=(language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                meta http-equiv="Content-Security-Policy" content=(policy);
                title { (title) }
                (head)
            }
            (body)
        }
    };
    // A page may be printed on a terminal, and HTML has no place for control characters.
    let mut text: String = page.into_string().chars().map(|c| if is_steering(c) { char::REPLACEMENT_CHARACTER } else { c }).collect();
    text.push('\n');
    text
}

/// A text as a CSS string: everything but plain letters, digits and a few harmless signs is written as an escape, so that no text can end
/// the string, the rule or the style element.
pub fn css_string(text: &str) -> String {
    let mut string = String::with_capacity(text.len() + 2);
    string.push('"');
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() || " .,:;-_+()".contains(letter) {
            string.push(letter);
        } else if !letter.is_control() {
            let _ = write!(string, "\\{:x} ", u32::from(letter));
        }
    }
    string.push('"');
    string
}

/// A body's Markdown: its HTML is shown as the text it is, links keep their words and lose their target, a picture is named and not
/// shown, and headings stand below those of the document.
pub fn markdown(text: &str) -> Markup {
    let options = Options::ENABLE_TASKLISTS | Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH;
    let events = Parser::new_ext(text, options).filter_map(|event| match event {
        Event::Html(html) | Event::InlineHtml(html) => Some(Event::Text(html)),
        Event::Start(Tag::Link { .. } | Tag::HtmlBlock) | Event::End(TagEnd::Link | TagEnd::HtmlBlock | TagEnd::Image) => None,
        Event::Start(Tag::Image { dest_url, .. }) => Some(Event::Text(CowStr::from(format!("[{dest_url}] ")))),
        Event::Start(Tag::Heading { level, .. }) => {
            Some(Event::Start(Tag::Heading { level: below(level), id: None, classes: Vec::new(), attrs: Vec::new() }))
        }
        Event::End(TagEnd::Heading(level)) => Some(Event::End(TagEnd::Heading(below(level)))),
        Event::TaskListMarker(done) => Some(Event::Text(CowStr::from(if done { "\u{2611} " } else { "\u{2610} " }))),
        other => Some(other),
    });
    let mut html = String::new();
    pulldown_cmark::html::push_html(&mut html, events);
    PreEscaped(html)
}

/// A heading's level under the sections of a document, which reach the third.
fn below(level: HeadingLevel) -> HeadingLevel {
    match level {
        HeadingLevel::H1 => HeadingLevel::H4,
        HeadingLevel::H2 => HeadingLevel::H5,
        _ => HeadingLevel::H6,
    }
}
