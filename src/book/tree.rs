//! The span tree of a front matter: where each key and value begins and ends. Built only for files that something is to be said about.

use std::collections::HashMap;
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

impl Style {
    /// Whether it is written in brackets.
    pub fn is_flow(self) -> bool {
        self == Style::Flow
    }
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
    /// Why it stopped there.
    pub why: Why,
}

/// Why a text has no tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It is not YAML.
    Syntax,
    /// An alias whose anchor is not there.
    Alias,
    /// Maps and lists stand deeper in one another than any record needs.
    Depth,
    /// A second document begins.
    Document,
}

/// Levels of maps and lists that no record comes near.
pub const MAX_DEPTH: usize = 64;

/// A map or list whose end has not come yet.
struct Open {
    node: Node,
    key: Option<(String, Range<usize>)>,
}

/// Parses a front matter into its span tree; an empty one is an empty map.
pub fn parse(text: &str) -> Result<Node, Broken> {
    let broken = |error: ScanError| {
        let at = error.marker().byte_offset().unwrap_or(0).min(text.len());
        let why = match error.info() {
            message if message.contains("recursion") || message.contains("nest") => Why::Depth,
            message if message.contains("unknown anchor") => Why::Alias,
            _ => Why::Syntax,
        };
        Broken { at, why }
    };
    // A stack of our own: the depth of a record must never become the depth of ours.
    let mut stack: Vec<Open> = Vec::new();
    let mut root = None;
    for next in Parser::new_from_str(text) {
        let (event, span) = next.map_err(broken)?;
        let bytes = span.byte_range().unwrap_or(0..0);
        if stack.len() > MAX_DEPTH {
            return Err(Broken { at: bytes.start.min(text.len()), why: Why::Depth });
        }
        let style = |style: StructureStyle| if style == StructureStyle::Flow { Style::Flow } else { Style::Block };
        let done = match event {
            // The parser writes `~` where nothing stands.
            Event::Scalar(..) if bytes.is_empty() => Node { span: bytes, kind: NodeKind::Scalar(String::new()) },
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
            Event::DocumentStart(..) if root.is_some() => {
                return Err(Broken { at: bytes.start, why: Why::Document });
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

/// An alias, and how much text all aliases stand for together.
#[derive(Debug)]
pub struct Aliases {
    /// Where each `*name` stands.
    pub spans: Vec<Range<usize>>,
    /// Bytes of scalars that a decoder which follows every alias would read.
    pub expanded: u64,
}

/// Weighs the aliases of a text without following them; nothing when it is not YAML.
pub fn weigh_aliases(text: &str) -> Option<Aliases> {
    let mut aliases = Aliases { spans: Vec::new(), expanded: 0 };
    // What each anchor stands for, and the anchors and weights of the nodes whose end has not come yet.
    let mut weights: HashMap<usize, u64> = HashMap::new();
    let mut open: Vec<(usize, u64)> = Vec::new();
    for next in Parser::new_from_str(text) {
        let (event, span) = next.ok()?;
        let bytes = span.byte_range().unwrap_or(0..0);
        let (anchor, weight) = match event {
            Event::Scalar(_, _, anchor, _) => (anchor, bytes.len() as u64 + 1),
            Event::Alias(id) => {
                aliases.spans.push(bytes);
                (0, weights.get(&id).copied().unwrap_or(1))
            }
            Event::SequenceStart(_, anchor, ..) | Event::MappingStart(_, anchor, ..) => {
                open.push((anchor, 1));
                continue;
            }
            Event::SequenceEnd | Event::MappingEnd => open.pop().unwrap_or_default(),
            _ => continue,
        };
        if anchor != 0 {
            weights.insert(anchor, weight);
        }
        let holder = open.last_mut().map_or(&mut aliases.expanded, |(_, holder)| holder);
        *holder = holder.saturating_add(weight);
    }
    Some(aliases)
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

/// A single value or an empty map or list: its path, itself, and the bytes of the key or item that it stands under.
pub type Value<'t> = (FieldPath, &'t Node, &'t Range<usize>);

impl Node {
    /// The text of a single value.
    pub fn text(&self) -> Option<&str> {
        match &self.kind {
            NodeKind::Scalar(text) => Some(text),
            _ => None,
        }
    }

    /// Every single value, and every map or list with nothing in it, in the order in which they are written.
    pub fn values(&self) -> impl Iterator<Item = Value<'_>> {
        // A stack of our own: the depth of a record must never become the depth of ours.
        let mut open = vec![(FieldPath::root(), self, &self.span)];
        std::iter::from_fn(move || {
            loop {
                let (path, node, key_span) = open.pop()?;
                match &node.kind {
                    NodeKind::Map(entries, _) if !entries.is_empty() => {
                        open.extend(entries.iter().rev().map(|entry| (path.at(entry.key.clone()), &entry.value, &entry.key_span)));
                    }
                    NodeKind::List(items, _) if !items.is_empty() => {
                        open.extend(items.iter().enumerate().rev().map(|(index, item)| (path.at(index), item, &item.span)));
                    }
                    _ => return Some((path, node, key_span)),
                }
            }
        })
    }

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
