//! The Markdown body of a record: open work, and what it points at.

use std::ops::Range;

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

use crate::record::Date;

/// What the rules read of a body.
#[derive(Debug, Default)]
pub struct Body {
    /// `- [ ]` and `- [x]` items.
    pub tasks: Vec<Task>,
    /// Links and images.
    pub links: Vec<Link>,
}

/// A task-list item.
#[derive(Debug)]
pub struct Task {
    /// Whether its box is ticked.
    pub done: bool,
    /// Its text.
    pub text: String,
    /// The date in its `(by YYYY-MM-DD)`, or what stands there instead of one.
    pub by: Option<Result<Date, String>>,
    /// Its bytes in the file.
    pub span: Range<usize>,
}

/// A link or an image.
#[derive(Debug)]
pub struct Link {
    /// Where it points.
    pub target: String,
    /// Whether it is an image.
    pub image: bool,
    /// Its bytes in the file.
    pub span: Range<usize>,
}

/// Reads a body that begins at `offset` in its file.
pub fn read(text: &str, offset: usize) -> Body {
    let mut body = Body::default();
    // Most bodies hold a few lines of prose: neither a task nor a link can hide where there is no bracket.
    if !text.contains('[') {
        return body;
    }
    let mut task: Option<Task> = None;
    let shift = |span: Range<usize>| span.start + offset..span.end + offset;
    for (event, span) in Parser::new_ext(text, Options::ENABLE_TASKLISTS).into_offset_iter() {
        match event {
            Event::TaskListMarker(done) => task = Some(Task { done, text: String::new(), by: None, span: shift(span) }),
            Event::Text(words) | Event::Code(words) => {
                if let Some(task) = &mut task {
                    task.text.push_str(&words);
                    task.span.end = span.end + offset;
                }
            }
            Event::SoftBreak | Event::HardBreak => {
                if let Some(task) = &mut task {
                    task.text.push(' ');
                }
            }
            Event::End(TagEnd::Item) | Event::Start(Tag::List(_)) => finish(&mut body, task.take()),
            Event::Start(Tag::Link { dest_url, .. }) => {
                body.links.push(Link { target: dest_url.into_string(), image: false, span: shift(span) });
            }
            Event::Start(Tag::Image { dest_url, .. }) => {
                body.links.push(Link { target: dest_url.into_string(), image: true, span: shift(span) });
            }
            _ => {}
        }
    }
    body
}

/// The links and images of a body that begins at `offset` in its file.
pub fn links(text: &str, offset: usize) -> Vec<Link> {
    read(text, offset).links
}

fn finish(body: &mut Body, task: Option<Task>) {
    let Some(mut task) = task else { return };
    task.text = task.text.trim().to_owned();
    task.by = task.text.rsplit_once("(by ").and_then(|(_, after)| after.split_once(')')).map(|(date, _)| {
        let date = date.trim();
        date.parse().map_err(|_| date.to_owned())
    });
    body.tasks.push(task);
}
