//! A front matter as it is written, value by value: what searches and flat listings look at.
//!
//! The typed records hold what could be read; this holds what stands there, also where it could not. It is looked at as written
//! first, and in its mended copy only when what is written is not YAML at all.

use std::ops::Range;

use super::decode::MAX_FRONT_BYTES;
use super::lexical;
use super::path::FieldPath;
use super::source::{SourceFile, lines};
use super::tree::{self, Node, NodeKind};

/// The values of a front matter and their bytes in the file.
#[derive(Debug)]
pub struct Written<'a> {
    file: &'a SourceFile,
    tree: Node,
    mended: bool,
}

/// One single value.
#[derive(Debug)]
pub struct Leaf<'a> {
    /// Its path.
    pub path: FieldPath,
    /// What it says, quotes and line folding undone.
    pub text: &'a str,
    /// Its bytes in the file; empty where a key has nothing behind it.
    pub span: Range<usize>,
}

impl<'a> Written<'a> {
    /// Reads a file's front matter; nothing when no YAML can be made of it, or when it is larger or deeper than any record.
    pub fn of(file: &'a SourceFile) -> Option<Written<'a>> {
        let front = file.front_text();
        if front.len() > MAX_FRONT_BYTES || lexical::too_deep(front).is_some() {
            return None;
        }
        let is_map = |tree: &Node| matches!(tree.kind, NodeKind::Map(..));
        if let Some(tree) = tree::parse(front).ok().filter(is_map) {
            return Some(Written { file, tree, mended: false });
        }
        let tree = tree::parse(&file.mended.as_ref()?.text()).ok().filter(is_map)?;
        Some(Written { file, tree, mended: true })
    }

    /// The whole front matter.
    pub fn root(&self) -> &Node {
        &self.tree
    }

    /// The file.
    pub fn file(&self) -> &'a SourceFile {
        self.file
    }

    /// The bytes in the file of a span of the tree.
    pub fn span(&self, of_tree: &Range<usize>) -> Range<usize> {
        let span = match &self.file.mended {
            Some(mend) if self.mended => mend.original_range(of_tree),
            _ => of_tree.clone(),
        };
        span.start + self.file.front.start..span.end + self.file.front.start
    }

    /// The bytes to show for `path`: itself, or the nearest thing above it that is there.
    pub fn span_to_show(&self, path: &FieldPath) -> Range<usize> {
        self.span(&self.tree.span_to_show(path))
    }

    /// Whether something is written at `path`, if only its key.
    pub fn has(&self, path: &FieldPath) -> bool {
        self.tree.find(path).depth == path.steps().len()
    }

    /// Every single value, in the order in which they are written.
    pub fn leaves(&self) -> Vec<Leaf<'_>> {
        // The mended copy says `~` where it leaves something out: nobody wrote that.
        let values = self.tree.values().filter_map(|(path, node, key_span)| {
            let text = node.text().filter(|text| !(self.mended && *text == "~"))?;
            // A key with nothing behind it is shown at the key.
            let span = if node.span.is_empty() { key_span.end..key_span.end } else { node.span.clone() };
            Some(Leaf { path, text, span: self.span(&span) })
        });
        values.collect()
    }

    /// Lines of the front matter that no value could be made of: what the mended copy leaves out.
    pub fn lines_left_out(&self) -> Vec<(Range<usize>, &'a str)> {
        if !self.mended {
            return Vec::new();
        }
        let mut covered: Vec<Range<usize>> = Vec::new();
        let mut open = vec![&self.tree];
        while let Some(node) = open.pop() {
            match &node.kind {
                NodeKind::Scalar(text) if text == "~" => {}
                NodeKind::Scalar(_) => covered.push(self.span(&node.span)),
                NodeKind::Map(entries, _) => {
                    covered.extend(entries.iter().map(|entry| self.span(&entry.key_span)));
                    open.extend(entries.iter().map(|entry| &entry.value));
                }
                NodeKind::List(items, _) => open.extend(items),
            }
        }
        covered.sort_by_key(|span| span.start);
        front_lines(self.file)
            .filter(|(line, _)| {
                // The last span that begins before the line's end decides: spans of keys and single values do not overlap.
                let before = covered.partition_point(|span| span.start < line.end);
                covered[..before].last().is_none_or(|span| span.end <= line.start)
            })
            .collect()
    }
}

/// The lines of a front matter that say something, with their bytes in the file.
pub fn front_lines(file: &SourceFile) -> impl Iterator<Item = (Range<usize>, &str)> {
    told(file.front_text(), file.front.start).filter(|(_, line)| !line.trim_start().starts_with('#'))
}

/// The lines of a body that say something, with their bytes in the file.
pub fn body_lines(file: &SourceFile) -> impl Iterator<Item = (Range<usize>, &str)> {
    told(file.body_text(), file.body.start)
}

fn told(text: &str, start: usize) -> impl Iterator<Item = (Range<usize>, &str)> {
    lines(text).filter(|(_, line)| !line.trim().is_empty()).map(move |(range, line)| (range.start + start..range.end + start, line))
}
