//! Words found in records, with slips of spelling forgiven.
//!
//! A record is a hit when it holds every word asked for; the name of its site counts too, so long as one word is in the record itself.
//! A word matches a word of the text by being it, by beginning it (from three letters on: `trip` finds `tripped`), or by a slip:
//! one letter wrong, missing, too many or swapped with its neighbour in words of four to seven letters, two from eight letters on. No
//! slip is forgiven in shorter words, nor where there is a digit: a serial or a figure nearly right is another one. Records that hold
//! the words as they are come first, then those with slips; among these the ones that hold more of them in one passage, then the
//! newest.

use std::cell::RefCell;
use std::collections::HashMap;
use std::ops::Range;

use crate::book::{Leaf, Step, Written, body_lines, front_lines};
use crate::sheets::Sheet;

/// Words that say nothing by themselves and are left out when others are asked for too.
const EMPTY_WORDS: [&str; 22] = [
    "a", "an", "and", "at", "by", "for", "from", "in", "is", "it", "of", "on", "or", "that", "the", "this", "to", "was", "what", "where",
    "which", "with",
];

/// How well a word fits; lower is better.
pub type Misfit = u32;
const EXACT: Misfit = 0;
const BEGINNING: Misfit = 1;
const SLIP: Misfit = 10;

/// A word asked for: one or more parts that follow one another in the text (`CP-204117`, or several words in quotes).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// As it was typed.
    pub typed: String,
    parts: Vec<String>,
}

/// The words asked for.
#[derive(Debug, Clone, Default)]
pub struct Words {
    words: Vec<Word>,
}

/// Where a record holds the words.
#[derive(Debug)]
pub struct Match {
    /// How many slips were forgiven, 10 each; 0 when the words stand there as they are.
    pub misfit: Misfit,
    /// How many of the words are not in the passage shown.
    pub scattered: usize,
    /// The bytes of the passage that holds most of them.
    pub passage: Range<usize>,
    /// The first byte in it that matches.
    pub at: usize,
    /// The words of the text taken for words asked for with a slip.
    pub slips: Vec<String>,
}

/// What came of looking for the words in one record.
#[derive(Debug)]
pub struct Looked {
    /// The match, when the record holds all words.
    pub found: Option<Match>,
    /// For each word, whether the record holds it.
    pub holds: Vec<bool>,
}

/// A stretch of text searched as one: a value, a paragraph.
struct Passage<'a> {
    text: &'a str,
    start: usize,
}

impl Words {
    /// Reads the words; empty ones are left out, and so are those that say nothing, unless there is nothing else.
    pub fn new(typed: &[String]) -> Words {
        let word = |typed: &String| Word { typed: typed.clone(), parts: tokens(typed).map(|(_, part)| part).collect() };
        // A whole question in one pair of quotes is a phrase; the words of a phrase all count.
        let all: Vec<Word> = typed.iter().map(word).filter(|word| !word.parts.is_empty()).collect();
        let telling: Vec<Word> = all.iter().filter(|word| !says_nothing(word)).cloned().collect();
        Words { words: if telling.is_empty() { all } else { telling } }
    }

    /// Whether nothing is asked for.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// The words that are looked for.
    pub fn iter(&self) -> impl Iterator<Item = &Word> {
        self.words.iter()
    }

    /// Looks for the words in a record.
    pub fn look_in(&self, sheet: &Sheet, written: Option<&Written<'_>>, memory: &Memory) -> Looked {
        let count = self.words.len();
        let mut best: Vec<Option<Misfit>> = vec![None; count];
        let mut slips: Vec<Option<String>> = vec![None; count];
        // The passage that holds most words, and holds them best.
        let mut shown: Option<(usize, Misfit, Range<usize>, usize)> = None;
        for passage in passages(sheet, written) {
            let text: Vec<(usize, String)> = tokens(passage.text).collect();
            let mut held = 0;
            let mut misfit = 0;
            let mut first = usize::MAX;
            for (index, word) in self.words.iter().enumerate() {
                let Some((fit, at, read)) = word.find(&text, memory) else { continue };
                held += 1;
                misfit += fit;
                first = first.min(at);
                if best[index].is_none_or(|known| fit < known) {
                    best[index] = Some(fit);
                    slips[index] = (fit >= SLIP).then_some(read);
                }
            }
            let better = shown.as_ref().is_none_or(|(most, least, ..)| held > *most || held == *most && misfit < *least);
            if held > 0 && better {
                shown = Some((held, misfit, passage.start..passage.start + passage.text.len(), passage.start + first));
            }
        }
        let Some((held, _, passage, at)) = shown else { return Looked { found: None, holds: vec![false; count] } };
        let place = format!("{} {}", sheet.site.as_deref().unwrap_or_default(), sheet.site_name.as_deref().unwrap_or_default());
        let place: Vec<(usize, String)> = tokens(&place).collect();
        for (index, word) in self.words.iter().enumerate() {
            let Some((fit, _, read)) = word.find(&place, memory) else { continue };
            if best[index].is_none_or(|known| fit < known) {
                best[index] = Some(fit);
                slips[index] = (fit >= SLIP).then_some(read);
            }
        }
        let holds = best.iter().map(Option::is_some).collect();
        // Exact words and beginnings of words are both what was asked for; slips add up.
        let misfit = best.iter().try_fold(EXACT, |sum, fit| fit.map(|fit| sum + if fit < SLIP { EXACT } else { fit }));
        let found =
            misfit.map(|misfit| Match { misfit, scattered: count - held, passage, at, slips: slips.into_iter().flatten().collect() });
        Looked { found, holds }
    }
}

fn says_nothing(word: &Word) -> bool {
    matches!(word.parts.as_slice(), [only] if EMPTY_WORDS.contains(&only.as_str()))
}

impl Word {
    /// The best fit in a text: how well, at which byte, and the words it was found in.
    fn find(&self, text: &[(usize, String)], memory: &Memory) -> Option<(Misfit, usize, String)> {
        let mut best: Option<(Misfit, &[(usize, String)])> = None;
        for window in text.windows(self.parts.len()) {
            let mut worst = EXACT;
            for (place, (part, (_, read))) in self.parts.iter().zip(window).enumerate() {
                let last = place + 1 == self.parts.len();
                match memory.fit(part, read).filter(|fit| last || *fit != BEGINNING) {
                    Some(fit) => worst = worst.max(fit),
                    None => {
                        worst = Misfit::MAX;
                        break;
                    }
                }
            }
            if worst != Misfit::MAX && best.is_none_or(|(least, _)| worst < least) {
                best = Some((worst, window));
                if worst == EXACT {
                    break;
                }
            }
        }
        let (fit, window) = best?;
        let read: Vec<&str> = window.iter().map(|(_, read)| read.as_str()).collect();
        Some((fit, window.first()?.0, read.join(" ")))
    }
}

/// What has been worked out already: the same words stand in every record.
#[derive(Debug, Default)]
pub struct Memory(RefCell<HashMap<String, HashMap<String, Option<Misfit>>>>);

impl Memory {
    fn fit(&self, asked: &str, read: &str) -> Option<Misfit> {
        if asked == read {
            return Some(EXACT);
        }
        let mut known = self.0.borrow_mut();
        if !known.contains_key(asked) {
            known.insert(asked.to_owned(), HashMap::new());
        }
        let of_asked = known.get_mut(asked)?;
        if let Some(fit) = of_asked.get(read) {
            return *fit;
        }
        let fit = fit(asked, read);
        of_asked.insert(read.to_owned(), fit);
        fit
    }
}

/// How well a word of the text fits a word asked for, both in small letters.
fn fit(asked: &str, read: &str) -> Option<Misfit> {
    let letters = asked.chars().count();
    if letters >= 3 && read.starts_with(asked) {
        return Some(BEGINNING);
    }
    let has_digit = |text: &str| text.bytes().any(|byte| byte.is_ascii_digit());
    let allowed = match letters {
        0..=3 => return None,
        4..=7 => 1,
        _ => 2,
    };
    let other = read.chars().count();
    if has_digit(asked) || has_digit(read) || other < 4 || other.abs_diff(letters) > allowed {
        return None;
    }
    let distance = strsim::osa_distance(asked, read);
    (distance <= allowed).then_some(SLIP * distance as Misfit)
}

/// The words of a text in small letters, with the byte at which each begins: letters and digits that stand together.
fn tokens(text: &str) -> impl Iterator<Item = (usize, String)> {
    let mut rest = text.char_indices().peekable();
    std::iter::from_fn(move || {
        while rest.next_if(|(_, c)| !c.is_alphanumeric()).is_some() {}
        let (start, _) = *rest.peek()?;
        let mut word = String::new();
        while let Some((_, c)) = rest.next_if(|(_, c)| c.is_alphanumeric()) {
            word.extend(c.to_lowercase());
        }
        Some((start, word))
    })
}

/// What is searched of a record: its values without their keys and the readings, what could not be read as it stands, and the paragraphs of its body.
fn passages<'a>(sheet: &'a Sheet, written: Option<&Written<'_>>) -> Vec<Passage<'a>> {
    let file = &*sheet.source;
    let at = |span: Range<usize>| Some(Passage { text: file.text.get(span.clone())?, start: span.start });
    let mut passages: Vec<Passage<'a>> = match written {
        Some(written) => {
            // Figures are for field filters: `no-trip` beside a reading is not what somebody who looks for a trip means.
            let is_reading = |leaf: &Leaf<'_>| leaf.path.steps().contains(&Step::from("readings"));
            let values: Vec<_> = written.leaves().into_iter().filter(|leaf| !is_reading(leaf)).filter_map(|leaf| at(leaf.span)).collect();
            values.into_iter().chain(written.lines_left_out().into_iter().filter_map(|(span, _)| at(span))).collect()
        }
        None => front_lines(file).filter_map(|(span, _)| at(span)).collect(),
    };
    let mut paragraph: Option<Range<usize>> = None;
    for (line, _) in body_lines(file) {
        let goes_on = paragraph.as_ref().is_some_and(|open| {
            let between = file.text.get(open.end..line.start).unwrap_or_default();
            between.bytes().filter(|byte| *byte == b'\n').count() == 1
        });
        match &mut paragraph {
            Some(open) if goes_on => open.end = line.end,
            open => passages.extend(open.replace(line).and_then(at)),
        }
    }
    passages.extend(paragraph.and_then(at));
    passages
}
