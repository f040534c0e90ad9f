//! The span tree of a front matter: where each key and value begins and ends. Built only for files that something is to be said about.

use std::ops::Range;

use granit_parser::{Event, Parser, ScanError, StructureStyle};

use super::path::{FieldPath, Step};

/// A node and where it stands.
#[derive(Debug)]
pub struct Node {
    /// Its bytes; for a map or list, from its first child to its last.
    pub span: Range<usize>,
    /// What it is.
    pub kind: NodeKind,
}

/// What a node is.
#[derive(Debug)]
pub enum NodeKind {
    /// A single value, an alias, or nothing.
    Scalar(String),
    /// A list.
    List(Vec<Node>, Style),
    /// A map.
    Map(Vec<Entry>, Style),
}

/// How a map or list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// One entry a line.
    Block,
    /// In brackets.
    Flow,
}

/// A key and its value.
#[derive(Debug)]
pub struct Entry {
    /// The key as text; keys that are not single values have none.
    pub key: String,
    /// The key's bytes.
    pub key_span: Range<usize>,
    /// The value.
    pub value: Node,
}

/// Why no tree could be made.
#[derive(Debug)]
pub struct Broken {
    /// The byte at which the text stopped being YAML.
    pub at: usize,
    /// What the parser says.
    pub message: String,
}

/// A map or list whose end has not come yet.
struct Open {
    node: Node,
    key: Option<(String, Range<usize>)>,
}

/// Parses a front matter into its span tree; an empty one is an empty map.
pub fn parse(text: &str) -> Result<Node, Broken> {
    let broken = |error: ScanError| Broken { at: error.marker().byte_offset().unwrap_or(0).min(text.len()), message: error.info() };
    // A stack of our own: the depth of a record must never become the depth of ours.
    let mut stack: Vec<Open> = Vec::new();
    let mut root = None;
    for next in Parser::new_from_str(text) {
        let (event, span) = next.map_err(broken)?;
        let bytes = span.byte_range().unwrap_or(0..0);
        let style = |style: StructureStyle| if style == StructureStyle::Flow { Style::Flow } else { Style::Block };
        let done = match event {
            Event::Scalar(value, ..) => Node { span: bytes, kind: NodeKind::Scalar(value.into_owned()) },
            Event::Alias(_) => Node { span: bytes.clone(), kind: NodeKind::Scalar(text.get(bytes).unwrap_or_default().to_owned()) },
            Event::SequenceStart(kind, ..) => {
                stack.push(Open { node: Node { span: bytes, kind: NodeKind::List(Vec::new(), style(kind)) }, key: None });
                continue;
            }
            Event::MappingStart(kind, ..) => {
                stack.push(Open { node: Node { span: bytes, kind: NodeKind::Map(Vec::new(), style(kind)) }, key: None });
                continue;
            }
            Event::SequenceEnd | Event::MappingEnd => match stack.pop() {
                Some(mut open) => {
                    open.node.span.end = end_of(&open.node, bytes.end);
                    open.node
                }
                None => continue,
            },
            Event::DocumentStart(explicit, _) if explicit && root.is_some() => {
                return Err(Broken { at: bytes.start, message: "a second document begins here".to_owned() });
            }
            _ => continue,
        };
        match stack.last_mut() {
            None => root = Some(done),
            Some(open) => match &mut open.node.kind {
                NodeKind::List(items, _) => items.push(done),
                NodeKind::Map(entries, _) => match open.key.take() {
                    None => {
                        let name = if let NodeKind::Scalar(name) = done.kind { name } else { String::new() };
                        open.key = Some((name, done.span));
                    }
                    Some((key, key_span)) => entries.push(Entry { key, key_span, value: done }),
                },
                NodeKind::Scalar(_) => {}
            },
        }
    }
    Ok(root.unwrap_or(Node { span: 0..0, kind: NodeKind::Map(Vec::new(), Style::Block) }))
}

/// A bracketed map or list ends at its bracket, a block one with its last child.
fn end_of(node: &Node, reported: usize) -> usize {
    match &node.kind {
        NodeKind::Map(entries, Style::Block) => entries.last().map_or(node.span.end, |entry| entry.value.span.end.max(entry.key_span.end)),
        NodeKind::List(items, Style::Block) => items.last().map_or(node.span.end, |item| item.span.end),
        _ => reported,
    }
}

/// A node found by its path, with the key that leads to it.
#[derive(Debug, Clone, Copy)]
pub struct Found<'t> {
    /// The node.
    pub node: &'t Node,
    /// The key it stands under, when it stands under one.
    pub key: Option<&'t Entry>,
    /// How many steps of the path were there.
    pub depth: usize,
}

impl Node {
    /// Walks down as much of the path as is there.
    pub fn find(&self, path: &FieldPath) -> Found<'_> {
        let mut found = Found { node: self, key: None, depth: 0 };
        for step in path.steps() {
            let next = match (&found.node.kind, step) {
                // The last of two equal keys is the one that most decoders keep.
                (NodeKind::Map(entries, _), Step::Key(key)) => {
                    entries.iter().rev().find(|entry| entry.key == *key).map(|entry| (&entry.value, Some(entry)))
                }
                (NodeKind::List(items, _), Step::Index(index)) => items.get(*index).map(|item| (item, None)),
                _ => None,
            };
            let Some((node, key)) = next else { break };
            found = Found { node, key, depth: found.depth + 1 };
        }
        found
    }

    /// The bytes that a reader should be shown for a path: the value when it is a single one, the key of a map or list, the naming
    /// line of a list item, and the nearest of these above what is not there.
    pub fn span_to_show(&self, path: &FieldPath) -> Range<usize> {
        let found = self.find(path);
        match &found.node.kind {
            NodeKind::Scalar(_) if found.depth == path.steps().len() && !found.node.span.is_empty() => found.node.span.clone(),
            NodeKind::Scalar(_) => found.key.map_or(found.node.span.clone(), |entry| entry.key_span.clone()),
            _ if found.key.is_some() => found.key.map_or(0..0, |entry| entry.key_span.clone()),
            NodeKind::Map(entries, _) => {
                let naming = ["id", "rule", "serial", "what", "where", "to", "kind", "record"];
                let grip = naming.iter().find_map(|name| entries.iter().find(|entry| entry.key == *name)).or(entries.first());
                grip.map_or(found.node.span.clone(), |entry| {
                    if entry.value.span.is_empty() { entry.key_span.clone() } else { entry.value.span.clone() }
                })
            }
            NodeKind::List(items, _) => items.first().map_or(found.node.span.clone(), |item| item.span.clone()),
        }
    }
}
