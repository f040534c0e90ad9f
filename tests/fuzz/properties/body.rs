//! The Markdown body.

use std::ops::Range;

use ampledger::record::Site;
use ampledger::{book, html};

/// The Markdown body: what is read of it lies in it, and as a page it has the elements of plain text and nothing that runs or leads
/// anywhere.
pub fn body(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let whole = format!("---\nrecord: site\n---\n{text}");
    let record = book::record_from_text::<Site>("sites/elm-row/site.md", whole, "elm-row".to_owned(), Vec::new());
    let body = record.source.body.clone();
    let lies_in_body = |span: &Range<usize>| {
        assert!(record.source.text.get(span.clone()).is_some(), "{span:?} is not in the text");
        assert!(body.start <= span.start && span.end <= body.end, "{span:?} is not in the body {body:?}");
    };
    record.body.tasks.iter().for_each(|task| lies_in_body(&task.span));
    record.body.links.iter().for_each(|link| lies_in_body(&link.span));
    let starts: Vec<usize> = record.body.links.iter().map(|link| link.span.start).collect();
    assert!(starts.is_sorted(), "links are not in order: {starts:?}");
    harmless(&html::markdown(&text).into_string());
    is_one_string(&html::css_string(&text), &text);
}

/// A CSS string that is nothing else from its first quote to its last, and says the text without its control characters.
fn is_one_string(css: &str, text: &str) {
    let inside = css.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).expect("quotes");
    assert!(inside.bytes().all(|byte| byte.is_ascii_alphanumeric() || b" .,:;-_+()\\".contains(&byte)), "{css}");
    let mut pieces = inside.split('\\');
    let mut said = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (code, rest) = piece.split_once(' ').expect("an escape ends with a space");
        said.push(u32::from_str_radix(code, 16).ok().and_then(char::from_u32).expect("an escape is a character"));
        said.push_str(rest);
    }
    assert!(said.chars().eq(text.chars().filter(|c| !c.is_control())), "{css} is not {text:?}");
}

fn harmless(page: &str) {
    const ELEMENTS: [&str; 21] = [
        "p",
        "h4",
        "h5",
        "h6",
        "blockquote",
        "pre",
        "code",
        "ul",
        "ol",
        "li",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "em",
        "strong",
        "del",
        "br",
        "hr",
    ];
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        let tag = &rest[at + 1..];
        let end = tag.find('>').unwrap_or_else(|| panic!("a tag without end: {page:?}"));
        let inside = tag[..end].trim_start_matches('/').trim_end_matches('/').trim_end();
        let (name, attributes) = inside.split_once(' ').unwrap_or((inside, ""));
        assert!(ELEMENTS.contains(&name), "<{name}>: {page:?}");
        let known = attributes.is_empty()
            || name == "ol"
                && attributes.strip_prefix("start=\"").is_some_and(|rest| rest.trim_end_matches('"').bytes().all(|b| b.is_ascii_digit()))
            || name == "code" && attributes.starts_with("class=\"language-") && attributes.matches('"').count() == 2
            || ["th", "td"].contains(&name) && attributes.starts_with("style=\"text-align: ") && attributes.matches('"').count() == 2;
        assert!(known, "<{name} {attributes}>: {page:?}");
        rest = &tag[end + 1..];
    }
}
