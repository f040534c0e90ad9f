//! Reads a damaged front matter: cures what can be cured, cuts out what cannot, tells of each, and remembers what could not be read.
//!
//! Everything happens in a reading copy ([`Mend`]); the places of faults are those of the original.

use std::collections::HashMap;
use std::ops::Range;

use serde::de::DeserializeOwned;

use super::decode::MAX_TOLD;
use super::fault::{Fault, FaultKind};
use super::holes::Holes;
use super::lexical;
use super::mend::Mend;
use super::path::{FieldPath, Step};
use super::serde_words::Refusal;
use super::slip::nearest;
use super::syntax::{Syntax, diagnose};
use super::tree::{self, Aliases, Broken, Entry, Node, NodeKind, Style, Why};

/// Bytes of front matter that are read again and again before a file is given up.
const MAX_WORK: usize = 4 * 1024 * 1024;
/// How often even the largest front matter is read again.
const MIN_TRIES: usize = 12;
/// Entries cut out one by one for the depth of their brackets.
const MAX_DEEP: usize = 8;
/// Conflicts whose keys are looked up one by one.
const MAX_CONFLICTS: usize = 16;
/// Lines above the one that a parser stopped at which may be the ones to blame.
const LINES_ABOVE: usize = 3;
/// Lines that are tried before more than one is cut.
const MAX_SUSPECTS: usize = 12;

/// A front matter under repair.
pub struct Repair<'f> {
    front: &'f str,
    mend: Mend,
    found: Vec<Fault>,
    /// Values that are there and could not be read.
    values: Vec<FieldPath>,
    /// Maps and lists of which some part could not be read.
    torn: Vec<FieldPath>,
    /// What was cut out before there was a tree to name it by.
    cuts: Vec<Cut>,
    /// How often each place has been cured in vain.
    tries: HashMap<FieldPath, usize>,
    lines_mended: bool,
    ends_with_file: bool,
    blurred: bool,
}

/// What came of looking for a value that would not decode.
enum Outcome {
    /// It has been told of and cut out.
    Cut,
    /// The whole front matter is not what a record can be.
    Hopeless,
    /// There is no such value: the refusal was of the text and not of a value.
    NotFound,
}

/// Something cut out of the text.
#[derive(Debug, Clone, Copy)]
struct Cut {
    /// Its first byte in the original.
    at: usize,
    /// Whether something stands in its place, so that a path leads there.
    replaced: bool,
}

/// What came of a repair.
pub struct Repaired<T> {
    /// The record, when anything of it could be read.
    pub data: Option<T>,
    /// The faults, placed in the front matter.
    pub faults: Vec<Fault>,
    /// What could not be read.
    pub holes: Holes,
    /// The reading copy, when it differs from the original.
    pub mend: Option<Mend>,
}

impl<'f> Repair<'f> {
    /// Of this front matter.
    pub fn new(front: &'f str) -> Self {
        Repair {
            front,
            mend: Mend::new(front),
            found: Vec::new(),
            values: Vec::new(),
            torn: Vec::new(),
            cuts: Vec::new(),
            tries: HashMap::new(),
            lines_mended: false,
            ends_with_file: false,
            blurred: false,
        }
    }

    /// Cures what can be seen in single characters.
    pub fn mend_characters(&mut self) {
        lexical::mend_characters(self.front, &mut self.mend, &mut self.found);
    }

    /// Whether anything has been found or cured.
    pub fn is_needed(&self) -> bool {
        self.mend.is_changed() || !self.found.is_empty()
    }

    /// Takes over faults that somebody else has found.
    pub fn add_faults(&mut self, faults: &mut Vec<Fault>) {
        self.found.append(faults);
    }

    /// Cuts out the entries in which brackets stand too deep.
    pub fn cut_depth(&mut self) {
        let mut text = self.mend.text();
        for nth in 0..=MAX_DEEP {
            let Some(at) = lexical::too_deep(&text) else { return };
            if nth == MAX_DEEP {
                // Not one entry but a text full of brackets: nothing from here on is read.
                self.torn.push(FieldPath::root());
                self.cut(lexical::line_around(&text, at).start..text.len(), "");
                return;
            }
            let Some(block) = lexical::top_level_blocks(&text).into_iter().find(|block| block.contains(&at)) else { return };
            self.tell(FaultKind::TooDeep, at..at + 1);
            self.cut(block, "");
            text = self.mend.text();
        }
    }

    /// Takes all aliases out, since together they stand for more than can be read.
    pub fn cut_aliases(&mut self, aliases: &Aliases) {
        let first = aliases.spans.first().cloned().unwrap_or(0..0);
        self.found.push(Fault::at(FaultKind::AliasBomb { bytes: aliases.expanded }, first));
        for span in &aliases.spans {
            self.cuts.push(Cut { at: span.start, replaced: true });
            self.mend.replace(span.clone(), "~");
        }
    }

    /// Decodes what is left after every cure and cut that it takes.
    pub fn run<T: DeserializeOwned + Default>(mut self, ends_with_file: bool, blurred: bool) -> Repaired<T> {
        self.ends_with_file = ends_with_file;
        self.blurred = blurred;
        let conflicts = lexical::mend_conflicts(self.front, &mut self.mend, &mut self.found);
        self.cut_conflicts(conflicts);
        let mut data = None;
        let tries = (MAX_WORK / self.front.len().max(1)).clamp(MIN_TRIES, MAX_TOLD + 1);
        for nth in 0..=tries {
            if self.mend.is_overfull() || nth == tries {
                let end = self.front.trim_end().len();
                self.found.push(Fault::at(FaultKind::ManyMore, end..end));
                break;
            }
            let text = self.mend.text();
            let tree = match tree::parse(&text) {
                Ok(tree) => tree,
                Err(broken) if self.cure_syntax(&text, &broken) => continue,
                Err(_) => break,
            };
            if self.cut_duplicates(&tree, &text) {
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
            let path = steps_of(error.path());
            let progress = match self.cut_value(&tree, &text, path, &error.inner().to_string()) {
                Outcome::Cut => true,
                Outcome::Hopeless => false,
                // The decoder refuses a text that the parser of places takes for YAML.
                Outcome::NotFound => {
                    let at = error.inner().location().map_or(0, |location| location.index().min(text.len()));
                    self.cure_syntax(&text, &Broken { at, why: Why::Syntax })
                }
            };
            if !progress {
                break;
            }
        }
        self.finish(data)
    }

    fn finish<T>(mut self, data: Option<T>) -> Repaired<T> {
        let mut holes = Holes::default();
        if let Ok(tree) = tree::parse(&self.mend.text()) {
            for cut in std::mem::take(&mut self.cuts) {
                match self.path_of_cut(&tree, cut) {
                    (path, true) => self.values.push(path),
                    (path, false) => self.torn.push(path),
                }
            }
            if self.ends_with_file {
                self.tear_the_end(&tree);
            }
            self.found = capped(std::mem::take(&mut self.found));
            for fault in self.found.iter_mut().filter(|fault| fault.path.is_root()) {
                fault.path = path_at(&tree, &self.mend, fault.span.start);
            }
            for path in self.torn {
                let found = tree.find(&path);
                let seen = match &found.node.kind {
                    NodeKind::Map(entries, _) if found.depth == path.steps().len() => {
                        entries.iter().map(|entry| entry.key.clone()).collect()
                    }
                    _ => Vec::new(),
                };
                holes.tear(path, seen);
            }
        }
        self.values.into_iter().for_each(|path| holes.add(path));
        if data.is_none() && self.found.is_empty() {
            self.found.push(Fault::at(FaultKind::NotYaml(Syntax::Whole), 0..0));
        }
        Repaired { data, faults: capped(self.found), holes, mend: self.mend.is_changed().then_some(self.mend) }
    }

    /// Tells of a fault at a range of the reading copy.
    fn tell(&mut self, kind: FaultKind, span: Range<usize>) {
        let span = self.mend.original_range(&span);
        self.found.push(Fault::at(kind, span));
    }

    /// Replaces a range of the reading copy whose path is not known yet.
    fn cut(&mut self, range: Range<usize>, stand_in: &str) {
        let range = self.mend.original_range(&range);
        self.cuts.push(Cut { at: range.start, replaced: !stand_in.is_empty() });
        self.mend.replace(range, stand_in);
    }

    /// Cures the faults of lines that stop a parser; false when that has been done already.
    fn mend_lines(&mut self) -> bool {
        if std::mem::replace(&mut self.lines_mended, true) {
            return false;
        }
        lexical::mend_lines(self.front, &mut self.mend, &mut self.found);
        true
    }

    /// Takes out what git has put in both versions, key by key, so that everything around it keeps its place.
    fn cut_conflicts(&mut self, regions: Vec<Range<usize>>) {
        for (nth, region) in regions.into_iter().enumerate() {
            let text = self.mend.text();
            let tree = if nth < MAX_CONFLICTS { tree::parse(&text).ok() } else { None };
            let Some(tree) = tree else {
                self.cuts.push(Cut { at: region.start, replaced: false });
                self.mend.replace(region, "");
                continue;
            };
            let mut cut_any = false;
            let mut open = vec![(FieldPath::root(), &tree)];
            let mut edits = Vec::new();
            while let Some((path, node)) = open.pop() {
                let mut take = |start: usize, here: FieldPath, child, cut: Range<usize>, stand_in| {
                    if region.contains(&self.mend.original_offset(start)) {
                        self.values.push(here);
                        self.torn.push(path.clone());
                        edits.push((self.mend.original_range(&cut), stand_in));
                        cut_any = true;
                    } else {
                        open.push((here, child));
                    }
                };
                match &node.kind {
                    NodeKind::Map(entries, style) => {
                        for (index, entry) in entries.iter().enumerate() {
                            let cut = entry_range(entries, index, *style, &text);
                            take(entry.key_span.start, path.at(entry.key.clone()), &entry.value, cut, "");
                        }
                    }
                    NodeKind::List(items, _) => {
                        for (index, item) in items.iter().enumerate() {
                            take(item.span.start, path.at(index), item, item.span.clone(), "{}");
                        }
                    }
                    NodeKind::Scalar(_) => {}
                }
            }
            for (range, stand_in) in edits {
                self.mend.replace(range, stand_in);
            }
            if !cut_any {
                self.cuts.push(Cut { at: region.start, replaced: false });
            }
        }
    }

    /// Cures or cuts what stopped the parser; false when there is nothing left to try.
    fn cure_syntax(&mut self, text: &str, broken: &Broken) -> bool {
        if broken.why != Why::Depth && self.mend_lines() {
            return true;
        }
        match broken.why {
            Why::Alias => {
                if self.cut_unknown_alias(text, broken.at) {
                    return true;
                }
            }
            Why::Depth => {
                let block = lexical::top_level_blocks(text).into_iter().find(|block| block.contains(&broken.at));
                let Some(block) = block else { return false };
                self.tell(FaultKind::TooDeep, lexical::first_line(text, lexical::trimmed(text, block.clone())));
                self.cut(block, "");
                return true;
            }
            Why::Syntax | Why::Document => {}
        }
        let (blame, cut, stand_in) = self.find_blame(text, broken.at);
        if cut.is_empty() || text[cut.clone()].trim().is_empty() {
            return false;
        }
        let line = lexical::trimmed(text, blame);
        // The torn last line of a file that was cut off has been told of as that.
        let at_the_end = text[cut.end.min(text.len())..].trim().is_empty();
        if !(self.ends_with_file && at_the_end) {
            self.tell(FaultKind::NotYaml(diagnose(&text[line.clone()])), line);
        }
        self.cut(cut, &stand_in);
        true
    }

    /// The line to show, the range to cut and what to put in its place: the smallest cut after which its entry is YAML.
    fn find_blame(&self, text: &str, at: usize) -> (Range<usize>, Range<usize>, String) {
        let by_itself = without_aliases(text);
        let culprit = lexical::top_level_blocks(text).into_iter().find_map(|block| {
            let alone = &by_itself[block.clone()];
            match tree::parse(alone) {
                Ok(node) => (!lexical::is_blank(alone) && !matches!(node.kind, NodeKind::Map(..))).then_some((block.clone(), block.start)),
                Err(error) => Some((block.clone(), block.start + error.at)),
            }
        });
        let Some((block, at)) = culprit else {
            // Sound piece by piece and broken as a whole: only the line that the parser stopped at is left to suspect.
            let line = lexical::line_around(text, at);
            return (line.clone(), line, String::new());
        };
        let mut line = lexical::line_around(text, at.min(block.end.saturating_sub(1)));
        if text[line.clone()].trim().is_empty() {
            line = line_above(text, &line, block.start).unwrap_or(line);
        }
        let cures = |cut: &Range<usize>, stand_in: &str| {
            let without = format!("{}{stand_in}{}", &by_itself[block.start..cut.start], &by_itself[cut.end..block.end]);
            tree::parse(&without).is_ok()
        };
        let mut suspect = Some(line.clone());
        let mut looked_at = 0;
        while let Some(here) = suspect.filter(|here| here.start > block.start && looked_at < MAX_SUSPECTS) {
            // Near the stop any line may be to blame, further above only one that is wrong in itself.
            let near = looked_at <= LINES_ABOVE;
            if near || !matches!(diagnose(text[here.clone()].trim_end()), Syntax::Indent | Syntax::NoKey) {
                looked_at += 1;
                for stand_in in [String::new(), item_stand_in(&text[here.clone()])] {
                    if cures(&here, &stand_in) {
                        return (here.clone(), here, stand_in);
                    }
                }
            }
            suspect = line_above(text, &here, block.start);
        }
        // No single line: what stands deeper than a line above goes with it, outwards until it helps.
        let mut head = line.clone();
        while let Some(above) = head_above(text, &head, block.start) {
            let cut = above.start..end_of_nested(text, &above, block.end);
            let stand_in = item_stand_in(&text[above.clone()]);
            if above.start > block.start && cures(&cut, &stand_in) {
                return (line, cut, stand_in);
            }
            head = above;
        }
        (line, block, String::new())
    }

    /// An alias without anchor: nothing stands there. It is told unless its anchor was in something cut out before.
    fn cut_unknown_alias(&mut self, text: &str, at: usize) -> bool {
        let Some(rest) = text[at..].strip_prefix('*') else { return false };
        let name: String = rest.chars().take_while(|c| !c.is_whitespace() && !",[]{}".contains(*c)).collect();
        if name.is_empty() {
            return false;
        }
        let span = at..at + 1 + name.len();
        if !self.front.contains(&format!("&{name}")) {
            self.tell(FaultKind::NotYaml(Syntax::UnknownAlias { name: name.clone() }), span);
        }
        let token = format!("*{name}");
        let ends = |end: usize| text[end..].chars().next().is_none_or(|c| c.is_whitespace() || ",[]{}".contains(c));
        let all = text.match_indices(&token).map(|(at, _)| at..at + token.len()).filter(|span| span.start >= at && ends(span.end));
        let all: Vec<Range<usize>> = all.map(|span| self.mend.original_range(&span)).collect();
        for span in all {
            self.cuts.push(Cut { at: span.start, replaced: true });
            self.mend.replace(span, "~");
        }
        true
    }

    /// Tells of keys given twice and cuts both out: nobody knows which is meant, and no sum may rest on either.
    fn cut_duplicates(&mut self, tree: &Node, text: &str) -> bool {
        let mut open = vec![(FieldPath::root(), tree)];
        while let Some((path, node)) = open.pop() {
            match &node.kind {
                NodeKind::Map(entries, style) => {
                    let mut by_key: Vec<(&str, Vec<usize>)> = Vec::new();
                    let mut places: HashMap<&str, usize> = HashMap::new();
                    for (index, entry) in entries.iter().enumerate() {
                        let place = *places.entry(&entry.key).or_insert(by_key.len());
                        if place == by_key.len() {
                            by_key.push((&entry.key, Vec::new()));
                        }
                        by_key[place].1.push(index);
                    }
                    let twice: Vec<_> = by_key.into_iter().filter(|(_, indexes)| indexes.len() > 1).collect();
                    if !twice.is_empty() {
                        self.tell_duplicates(&path, entries, *style, text, &twice);
                        // One map at a time: the ranges of the others belong to the text before the cut.
                        return true;
                    }
                    open.extend(entries.iter().map(|entry| (path.at(entry.key.clone()), &entry.value)));
                }
                NodeKind::List(items, _) => open.extend(items.iter().enumerate().map(|(index, item)| (path.at(index), item))),
                NodeKind::Scalar(_) => {}
            }
        }
        false
    }

    fn tell_duplicates(&mut self, path: &FieldPath, entries: &[Entry], style: Style, text: &str, twice: &[(&str, Vec<usize>)]) {
        let mut cuts = Vec::new();
        for (key, indexes) in twice {
            let here = path.at((*key).to_owned());
            let first = self.mend.original_range(&entries[indexes[0]].key_span);
            // A whole item whose dash was forgotten repeats every key; that is told once.
            if twice.len() < 3 || *key == twice[0].0 {
                let others = if twice.len() < 3 { 0 } else { twice.len() - 1 };
                for index in &indexes[1..] {
                    let kind = FaultKind::DuplicateKey { key: (*key).to_owned(), first: first.clone(), others };
                    let span = self.mend.original_range(&entries[*index].key_span);
                    self.found.push(Fault { path: here.clone(), ..Fault::at(kind, span) });
                }
            }
            self.values.push(here);
            cuts.extend(indexes.iter().map(|index| self.mend.original_range(&entry_range(entries, *index, style, text))));
        }
        for cut in cuts {
            self.mend.replace(cut, "");
        }
    }

    /// Tells of the value that would not decode and cuts it out.
    fn cut_value(&mut self, tree: &Node, text: &str, mut path: FieldPath, message: &str) -> Outcome {
        let refusal = Refusal::of(message);
        let mut at = tree.find(&path);
        let mut wrong_key = refusal.wrong_key(&path, &at);
        if let Some(key) = &wrong_key {
            path = if key.is_path { path } else { path.at(key.name.clone()) };
            at = tree.find(&path);
        }
        if at.depth < path.steps().len() {
            // Inside an alias there is no place of its own: the alias is where it can be put right.
            path = path.steps().iter().take(at.depth).cloned().collect();
            wrong_key = None;
        }
        if path.is_root() && !matches!(at.node.kind, NodeKind::Map(..)) {
            // Not one key and value: there is nothing to cut that would leave a record.
            let kind = refusal.fault(&at, text, None);
            self.tell(kind, lexical::first_line(text, at.node.span.clone()));
            return Outcome::Hopeless;
        }
        if path.is_root() || !refusal.is_of_a_value() {
            return Outcome::NotFound;
        }
        let kind = refusal.fault(&at, text, wrong_key.map(|key| key.name));
        let span = match (&kind, at.key) {
            (FaultKind::UnknownKey { .. }, Some(entry)) => entry.key_span.clone(),
            (_, Some(entry)) if at.node.span.is_empty() => entry.key_span.clone(),
            _ => lexical::first_line(text, at.node.span.clone()),
        };
        let again = self.tries.entry(path.clone()).or_insert(0);
        *again += 1;
        let again = *again;
        if again == 1 {
            // What is unreadable only because of a byte that has been told of needs no second word.
            if !(self.blurred && text[span.clone()].contains(char::REPLACEMENT_CHARACTER)) {
                let span = self.mend.original_range(&span);
                self.found.push(Fault { path: path.clone(), ..Fault::at(kind.clone(), span) });
            }
            if matches!(&kind, FaultKind::UnknownKey { key, .. } if key == "<<")
                && let Some(holder) = path.parent()
            {
                self.torn.push(holder);
            }
            // A misspelt key holds what the right one would: that it is missing there is not a second fault.
            if let FaultKind::UnknownKey { key, known } = &kind
                && let Some(meant) = nearest(key, known.iter().map(String::as_str))
                && let Some(right) = path.parent().map(|holder| holder.at(meant.to_owned()))
                && tree.find(&right).depth < right.steps().len()
            {
                self.values.push(right);
            }
            self.values.push(path.clone());
        }
        if self.cut_node(tree, text, &path, again) { Outcome::Cut } else { Outcome::NotFound }
    }

    /// Takes the value at `path` out of the mended copy. List items keep their place, so that the paths of their neighbours stay true.
    fn cut_node(&mut self, tree: &Node, text: &str, path: &FieldPath, again: usize) -> bool {
        let Some(parent_path) = path.parent() else { return false };
        let parent = tree.find(&parent_path);
        match (&parent.node.kind, path.steps().last()) {
            (NodeKind::Map(entries, style), Some(Step::Key(key))) => {
                let Some(index) = entries.iter().rposition(|entry| entry.key == *key) else { return false };
                let range = self.mend.original_range(&entry_range(entries, index, *style, text));
                self.mend.replace(range, "");
                true
            }
            (NodeKind::List(items, _), Some(Step::Index(index))) => {
                let Some(item) = items.get(*index) else { return false };
                let stand_in = match again {
                    1 => "{}",
                    2 => "''",
                    _ => return self.cut_node(tree, text, &parent_path, 1),
                };
                let range = self.mend.original_range(&item.span);
                let stand_in = if range.is_empty() { format!(" {stand_in}") } else { stand_in.to_owned() };
                self.mend.replace(range, stand_in);
                true
            }
            _ => false,
        }
    }

    /// Of a file that was cut off, the last value may be half of one, and everything that it stands in may have gone on.
    fn tear_the_end(&mut self, tree: &Node) {
        let mut path = FieldPath::root();
        let mut node = tree;
        loop {
            let next = match &node.kind {
                NodeKind::Map(entries, _) => entries.last().map(|entry| (Step::from(entry.key.clone()), &entry.value)),
                NodeKind::List(items, _) => items.last().map(|item| (Step::from(items.len() - 1), item)),
                NodeKind::Scalar(_) => break,
            };
            self.torn.push(path.clone());
            let Some((step, child)) = next else { break };
            path.push(step);
            node = child;
        }
        if !self.front.ends_with('\n') {
            self.values.push(path);
        }
    }

    /// The path of what a cut took away, by the place and the indent of its first line; false when only what held it can be named.
    fn path_of_cut(&self, tree: &Node, cut: Cut) -> (FieldPath, bool) {
        if cut.replaced {
            return (path_at(tree, &self.mend, cut.at), true);
        }
        let front = self.front;
        let column = |at: usize| at - lexical::line_around(front, at).start;
        let line = &front[lexical::line_around(front, cut.at)];
        let key_column = line.len() - line.trim_start_matches([' ', '-']).len();
        let key = line[key_column..].split_once(':').map(|(key, _)| key.trim());
        let key = key.filter(|key| !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_'));
        let mut path = FieldPath::root();
        let mut node = tree;
        loop {
            let (is_map, first) = match &node.kind {
                NodeKind::Map(entries, _) => (true, entries.first().map(|entry| self.mend.original_offset(entry.key_span.start))),
                _ => (false, None),
            };
            let is_empty_record = path.is_root() && first.is_none();
            if is_empty_record || first.is_some_and(|first| column(first) >= key_column) {
                return key.map_or((path.clone(), false), |key| (path.at(key.to_owned()), true));
            }
            match child_at(node, &self.mend, cut.at) {
                Some((_, step, child)) if !matches!(child.kind, NodeKind::Scalar(_)) => {
                    path.push(step);
                    node = child;
                }
                // The key above had nothing else below it than what was cut.
                Some((start, step, _)) if is_map && column(start) < key_column => return (path.at(step), true),
                _ => return (path, false),
            }
        }
    }
}

/// No more faults than anybody reads at once, in order, and a word on the rest.
fn capped(mut faults: Vec<Fault>) -> Vec<Fault> {
    if faults.len() > MAX_TOLD + 1 {
        faults.sort_by_key(|fault| fault.span.start);
        let rest = faults.split_off(MAX_TOLD);
        let at = rest.first().map_or(0..0, |fault| fault.span.clone());
        faults.push(Fault::at(FaultKind::ManyMore, at));
    }
    faults
}

/// A child of a node: the byte of the original where it begins, and the step that leads to it.
type Child<'t> = (usize, Step, &'t Node);

/// The last child that begins at or before a byte of the original.
fn child_at<'t>(node: &'t Node, mend: &Mend, at: usize) -> Option<Child<'t>> {
    // Children stand in the order of the text, and a large record has thousands.
    match &node.kind {
        NodeKind::Map(entries, _) => {
            let after = entries.partition_point(|entry| mend.original_offset(entry.key_span.start) <= at);
            let entry = entries.get(after.checked_sub(1)?)?;
            Some((mend.original_offset(entry.key_span.start), Step::from(entry.key.clone()), &entry.value))
        }
        NodeKind::List(items, _) => {
            let index = items.partition_point(|item| mend.original_offset(item.span.start) <= at).checked_sub(1)?;
            let item = items.get(index)?;
            Some((mend.original_offset(item.span.start), Step::from(index), item))
        }
        NodeKind::Scalar(_) => None,
    }
}

/// The path of the value that a byte of the original belongs to.
fn path_at(tree: &Node, mend: &Mend, at: usize) -> FieldPath {
    let mut path = FieldPath::root();
    let mut node = tree;
    while let Some((_, step, child)) = child_at(node, mend, at) {
        path.push(step);
        node = child;
    }
    path
}

/// The text with its aliases disarmed, byte for byte, so that a part of it can be parsed without the anchors of the rest.
fn without_aliases(text: &str) -> String {
    let mut before = ' ';
    let disarmed = text.chars().map(|c| {
        let alias = c == '*' && matches!(before, ' ' | '[' | '{' | ',' | '\n');
        before = c;
        if alias { 'x' } else { c }
    });
    disarmed.collect()
}

fn line_above(text: &str, line: &Range<usize>, floor: usize) -> Option<Range<usize>> {
    let mut start = line.start;
    while start > floor {
        let above = lexical::line_around(text, start - 1);
        if !text[above.clone()].trim().is_empty() {
            return Some(above);
        }
        start = above.start;
    }
    None
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}

/// The nearest line above that stands further out.
fn head_above(text: &str, line: &Range<usize>, floor: usize) -> Option<Range<usize>> {
    let column = indent(&text[line.clone()]);
    let mut above = line_above(text, line, floor);
    while let Some(here) = above {
        if indent(&text[here.clone()]) < column {
            return Some(here);
        }
        above = line_above(text, &here, floor);
    }
    None
}

/// The end of the lines below `head` that stand deeper than it.
fn end_of_nested(text: &str, head: &Range<usize>, ceiling: usize) -> usize {
    let column = indent(&text[head.clone()]);
    let mut end = head.end;
    while end < ceiling {
        let line = lexical::line_around(text, end);
        if !text[line.clone()].trim().is_empty() && indent(&text[line.clone()]) <= column {
            break;
        }
        end = line.end;
    }
    end.min(ceiling)
}

/// What keeps the place of a list item whose first line this is; nothing for other lines.
fn item_stand_in(line: &str) -> String {
    let column = indent(line);
    if line[column..].starts_with("- ") { format!("{}- {{}}\n", &line[..column]) } else { String::new() }
}

/// The bytes of one entry of a map, with the comma that a bracketed one needs gone too.
fn entry_range(entries: &[Entry], index: usize, style: Style, text: &str) -> Range<usize> {
    let entry = &entries[index];
    // A key that is no single word stands behind a question mark.
    let start = if text[..entry.key_span.start].ends_with("? ") { entry.key_span.start - 2 } else { entry.key_span.start };
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
