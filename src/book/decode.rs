//! From text to record. A sound file is decoded once; a damaged one is read again, part by part, so that every fault is told and
//! everything else is still there to be judged.

use std::collections::HashMap;
use std::ops::Range;

use serde::de::DeserializeOwned;

use super::fault::{Fault, FaultKind};
use super::lexical;
use super::mend::Mend;
use super::path::{FieldPath, Step};
use super::source::SourceFile;
use super::tree::{self, Node, NodeKind, Style};
use crate::record::{NOT_A_DATE, NOT_A_NUMBER};

/// More than any record needs, and little enough to be decoded in milliseconds.
pub const MAX_FRONT_BYTES: usize = 256 * 1024;
/// Faults told of one file before the rest is left for the next run.
const MAX_REPAIRS: usize = 64;

/// What could be read of a record.
#[derive(Debug)]
pub struct Decoded<T> {
    /// The record, with holes where something could not be read.
    pub data: T,
    /// The values that are there and could not be read: nothing may be said of them, not even that they are missing.
    pub unreadable: Vec<FieldPath>,
    /// True when nothing of the front matter could be read.
    pub lost: bool,
}

/// Decodes the front matter of `file`, adding faults in file coordinates; sets `file.mended` when it had to be read from a mended copy.
pub fn decode<T: DeserializeOwned + Default>(file: &mut SourceFile, faults: &mut Vec<Fault>) -> Decoded<T> {
    let front = file.front_text();
    let lost = |kind, span: Range<usize>, faults: &mut Vec<Fault>| {
        faults.push(Fault::at(kind, span));
        Decoded { data: T::default(), unreadable: vec![FieldPath::root()], lost: true }
    };
    if front.len() > MAX_FRONT_BYTES {
        let start = file.front.start;
        return lost(FaultKind::FrontTooLarge { bytes: front.len() }, start..start, faults);
    }
    // Open brackets cost the scanner quadratic time, so depth is looked at before any parser sees the text.
    if let Some(at) = lexical::too_deep(front) {
        let at = file.front.start + at;
        return lost(FaultKind::TooDeep, at..at + 1, faults);
    }
    if lexical::is_blank(front) {
        let span = file.front.clone();
        return lost(FaultKind::FrontEmpty, span.start..span.start, faults);
    }
    faults.extend(lexical::leading_zeros(front, file.front.start));
    let mut lexical_faults = Vec::new();
    if !lexical::is_plain(front) {
        let mut mend = Mend::new(front);
        lexical::mend_characters(front, &mut mend, &mut lexical_faults);
        if mend.is_changed() {
            return repair(file, mend, lexical_faults, faults);
        }
    }
    if let Ok(data) = serde_yaml::from_str::<T>(front) {
        return Decoded { data, unreadable: Vec::new(), lost: false };
    }
    let mend = Mend::new(front);
    repair(file, mend, lexical_faults, faults)
}

/// Reads a damaged front matter: cures what can be cured, cuts out what cannot, and tells of each.
fn repair<T: DeserializeOwned + Default>(
    file: &mut SourceFile,
    mut mend: Mend,
    mut found: Vec<Fault>,
    faults: &mut Vec<Fault>,
) -> Decoded<T> {
    let front = file.front_text().to_owned();
    lexical::mend_lines(&front, &mut mend, &mut found);
    let mut unreadable = Vec::new();
    let mut cuts: Vec<usize> = found.iter().filter(|fault| fault.kind == FaultKind::ConflictMarks).map(|fault| fault.span.start).collect();
    let mut tries: HashMap<FieldPath, usize> = HashMap::new();
    let mut data = None;
    for _ in 0..MAX_REPAIRS {
        let text = mend.text();
        let tree = match tree::parse(&text) {
            Ok(tree) => tree,
            Err(broken) => {
                if !cure_syntax(&front, &mut mend, &text, &broken, &mut found, &mut cuts) {
                    break;
                }
                continue;
            }
        };
        if cut_duplicates(&tree, &text, &mut mend, &mut found, &mut unreadable) {
            continue;
        }
        if lexical::is_blank(&text) {
            data = Some(T::default());
            break;
        }
        let error = match serde_path_to_error::deserialize(serde_yaml::Deserializer::from_str(&text)) {
            Ok(value) => {
                data = Some(value);
                break;
            }
            Err(error) => error,
        };
        let steps = steps_of(error.path());
        let message = error.inner().to_string();
        if !cut_value(&tree, &text, &steps, &message, &mut mend, &mut found, &mut unreadable, &mut tries) {
            break;
        }
    }
    let lost = data.is_none();
    if lost && found.is_empty() {
        found.push(Fault::at(FaultKind::NotYaml { message: "it cannot be read as YAML".to_owned() }, 0..0));
    }
    if let Ok(tree) = tree::parse(&mend.text()) {
        unreadable.extend(cuts.iter().map(|at| path_of_cut(&tree, &mend, &front, *at)));
    }
    if lost {
        unreadable.push(FieldPath::root());
    }
    let start = file.front.start;
    faults.extend(found.into_iter().map(|mut fault| {
        fault.span = fault.span.start + start..fault.span.end + start;
        if let FaultKind::DuplicateKey { first, .. } = &mut fault.kind {
            *first = first.start + start..first.end + start;
        }
        fault
    }));
    file.mended = mend.is_changed().then_some(mend);
    Decoded { data: data.unwrap_or_default(), unreadable, lost }
}

/// Finds the top-level entry that is not YAML by itself and cuts out its bad line, or all of it.
fn cure_syntax(front: &str, mend: &mut Mend, text: &str, broken: &tree::Broken, found: &mut Vec<Fault>, cuts: &mut Vec<usize>) -> bool {
    let blocks = lexical::top_level_blocks(text);
    let culprit = blocks.iter().find_map(|block| Some((block.clone(), tree::parse(text.get(block.clone())?).err()?)));
    let (cut, at) = match culprit {
        Some((block, error)) => {
            let at = block.start + error.at;
            let line = lexical::line_around(text, at.min(block.end.saturating_sub(1)));
            let without = format!("{}{}", &text[block.start..line.start.max(block.start)], &text[line.end.min(block.end)..block.end]);
            let line_is_all = line.start <= block.start;
            if !line_is_all && tree::parse(&without).is_ok() { (line, at) } else { (block, at) }
        }
        None => {
            // Sound piece by piece and broken as a whole: only the line that the parser stopped at is left to suspect.
            let line = lexical::line_around(text, broken.at);
            if line.is_empty() || text[line.clone()].trim().is_empty() {
                return false;
            }
            (line, broken.at)
        }
    };
    let cut = mend.original_range(&cut);
    if cut.is_empty() {
        return false;
    }
    let at = mend.original_offset(at).min(front.len());
    let shown = lexical::line_around(front, at.min(front.len().saturating_sub(1)));
    found.push(Fault::at(FaultKind::NotYaml { message: broken.message.clone() }, lexical::trimmed(front, shown)));
    cuts.push(cut.start);
    mend.replace(cut, "");
    true
}

/// Tells of keys given twice and cuts out the second; neither may then be judged, since nobody knows which is meant.
fn cut_duplicates(tree: &Node, text: &str, mend: &mut Mend, found: &mut Vec<Fault>, unreadable: &mut Vec<FieldPath>) -> bool {
    let mut cut_any = false;
    let mut open = vec![(FieldPath::root(), tree)];
    while let Some((path, node)) = open.pop() {
        match &node.kind {
            NodeKind::Map(entries, style) => {
                let mut seen: HashMap<&str, usize> = HashMap::new();
                for (index, entry) in entries.iter().enumerate() {
                    let here = path.at(entry.key.clone());
                    match seen.get(entry.key.as_str()) {
                        Some(first) => {
                            let first = mend.original_range(&entries[*first].key_span);
                            let kind = FaultKind::DuplicateKey { key: entry.key.clone(), first };
                            found.push(Fault { kind, span: mend.original_range(&entry.key_span), path: here.clone() });
                            let cut = entry_range(entries, index, *style, text);
                            mend.replace(mend.original_range(&cut), "");
                            unreadable.push(here);
                            cut_any = true;
                        }
                        None => {
                            seen.insert(&entry.key, index);
                            open.push((here, &entry.value));
                        }
                    }
                }
            }
            NodeKind::List(items, _) => open.extend(items.iter().enumerate().map(|(index, item)| (path.at(index), item))),
            NodeKind::Scalar(_) => {}
        }
        if cut_any {
            // One at a time: the ranges of the others belong to the text before the cut.
            return true;
        }
    }
    false
}

/// The bytes of one entry of a map, with the comma that a bracketed one needs gone too.
fn entry_range(entries: &[tree::Entry], index: usize, style: Style, text: &str) -> Range<usize> {
    let entry = &entries[index];
    let start = entry.key_span.start;
    let end = entry.value.span.end.max(entry.key_span.end);
    if style == Style::Block {
        // A key with nothing behind it still has its colon.
        let end = if entry.value.span.is_empty() { lexical::line_around(text, start).end.min(text.len()) } else { end };
        return start..lexical::trimmed(text, start..end).end.max(start);
    }
    match entries.get(index + 1) {
        Some(next) => start..next.key_span.start,
        None if index > 0 => entries[index - 1].value.span.end.max(entries[index - 1].key_span.end)..end,
        None => start..end,
    }
}

fn steps_of(path: &serde_path_to_error::Path) -> FieldPath {
    use serde_path_to_error::Segment;
    path.iter()
        .filter_map(|segment| match segment {
            Segment::Seq { index } => Some(Step::Index(*index)),
            Segment::Map { key } => Some(Step::from(key.clone())),
            Segment::Enum { .. } | Segment::Unknown => None,
        })
        .collect()
}

/// The words that serde lists after `expected` in a message.
fn expected_words(message: &str) -> Vec<String> {
    let after = message.split_once("expected").map_or("", |(_, after)| after);
    after.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

fn quoted_word(message: &str, before: &str) -> Option<String> {
    let after = message.split_once(before)?.1;
    after.split('`').next().map(str::to_owned)
}

/// Tells of the value that would not decode and cuts it out.
#[allow(clippy::too_many_arguments)]
fn cut_value(
    tree: &Node,
    text: &str,
    path: &FieldPath,
    message: &str,
    mend: &mut Mend,
    found: &mut Vec<Fault>,
    unreadable: &mut Vec<FieldPath>,
    tries: &mut HashMap<FieldPath, usize>,
) -> bool {
    let unknown_key = quoted_word(message, "unknown field `");
    let unknown_word = quoted_word(message, "unknown variant `");
    let mut path = path.clone();
    let mut at = tree.find(&path);
    // A key that is wrong as a word of its vocabulary is reported at the map that holds it, in some decoders' eyes.
    let mut key = unknown_key.clone();
    if key.is_none()
        && let (Some(word), NodeKind::Map(entries, _)) = (&unknown_word, &at.node.kind)
        && entries.iter().any(|entry| entry.key == *word)
    {
        key = Some(word.clone());
    }
    if let Some(key) = &key
        && path.last_key() != Some(key)
    {
        path = path.at(key.clone());
        at = tree.find(&path);
    }
    if at.depth < path.steps().len() {
        return false;
    }
    let scalar = match &at.node.kind {
        NodeKind::Scalar(value) => value.clone(),
        _ => String::new(),
    };
    let key_is_wrong =
        key.is_some() || (unknown_word.is_some() && path.last_key() == unknown_word.as_deref() && Some(&scalar) != unknown_word.as_ref());
    let kind = if key_is_wrong {
        let key = key.or(unknown_word).unwrap_or_default();
        FaultKind::UnknownKey { key, known: expected_words(message) }
    } else if let Some(word) = unknown_word {
        FaultKind::UnknownWord { word, known: expected_words(message) }
    } else if message.contains(NOT_A_NUMBER) {
        FaultKind::NotANumber { text: scalar }
    } else if message.contains(NOT_A_DATE) {
        FaultKind::NotADate { text: scalar }
    } else if message.contains("expected a boolean") && !scalar.is_empty() {
        FaultKind::NotTrueFalse { text: scalar }
    } else {
        FaultKind::WrongShape { message: lexical::plain_message(message) }
    };
    let span = match (&kind, at.key) {
        (FaultKind::UnknownKey { .. }, Some(entry)) => entry.key_span.clone(),
        (_, Some(entry)) if at.node.span.is_empty() => entry.key_span.clone(),
        _ => lexical::first_line(text, at.node.span.clone()),
    };
    let again = tries.entry(path.clone()).or_insert(0);
    *again += 1;
    if *again == 1 {
        found.push(Fault { kind, span: mend.original_range(&span), path: path.clone() });
        unreadable.push(path.clone());
    }
    cut_node(tree, text, &path, *again, mend)
}

/// Takes the value at `path` out of the mended copy. List items keep their place, so that the paths of their neighbours stay true.
fn cut_node(tree: &Node, text: &str, path: &FieldPath, again: usize, mend: &mut Mend) -> bool {
    let Some(parent_path) = path.parent() else { return false };
    let parent = tree.find(&parent_path);
    match (&parent.node.kind, path.steps().last()) {
        (NodeKind::Map(entries, style), Some(Step::Key(key))) => {
            let Some(index) = entries.iter().rposition(|entry| entry.key == *key) else { return false };
            let range = entry_range(entries, index, *style, text);
            let range = mend.original_range(&range);
            mend.replace(range, "");
            true
        }
        (NodeKind::List(items, _), Some(Step::Index(index))) => {
            let Some(item) = items.get(*index) else { return false };
            let stand_in = match again {
                1 => "{}",
                2 => "''",
                _ => return cut_node(tree, text, &parent_path, 1, mend),
            };
            let range = mend.original_range(&item.span);
            mend.replace(range, stand_in);
            true
        }
        _ => false,
    }
}

/// The path of what a cut took away, by the place and the indent of its first line in the original.
fn path_of_cut(tree: &Node, mend: &Mend, front: &str, cut: usize) -> FieldPath {
    let column = |at: usize| at - lexical::line_around(front, at).start;
    let line = &front[lexical::line_around(front, cut)];
    let key_column = line.len() - line.trim_start_matches([' ', '-']).len();
    let key = line[key_column..].split_once(':').map(|(key, _)| key.trim().to_owned());
    let mut path = FieldPath::root();
    let mut node = tree;
    let mut end = front.len();
    loop {
        let starts: Vec<(usize, Step, &Node)> = match &node.kind {
            NodeKind::Map(entries, _) => entries
                .iter()
                .map(|entry| (mend.original_offset(entry.key_span.start), Step::from(entry.key.clone()), &entry.value))
                .collect(),
            NodeKind::List(items, _) => {
                items.iter().enumerate().map(|(index, item)| (mend.original_offset(item.span.start), Step::from(index), item)).collect()
            }
            NodeKind::Scalar(_) => return path,
        };
        let is_map = matches!(node.kind, NodeKind::Map(..));
        if is_map && starts.first().is_none_or(|(start, ..)| column(*start) >= key_column) {
            return key.map_or(path.clone(), |key| path.at(key));
        }
        // A child reaches as far as its next sibling, or as its parent does.
        let holder = starts.iter().enumerate().rev().find(|(_, (start, ..))| *start <= cut);
        let Some((index, (_, step, child))) = holder else { return path };
        end = starts.get(index + 1).map_or(end, |next| next.0);
        if cut > end || matches!(child.kind, NodeKind::Scalar(_)) {
            return path;
        }
        path.push(step.clone());
        node = child;
    }
}
