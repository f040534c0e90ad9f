//! Figures beside readings: what each is held against, and what the cable lets expect.

use std::ops::Range;

use gen_lsp_types as lsp;

use super::page::Page;
use crate::book::Step;
use crate::path;
use crate::record::ReadingKey;
use crate::rules::limits;
use crate::rules::loops::expected;

/// The hints within some bytes of a document.
pub fn hints(page: &Page<'_>, within: Range<usize>) -> Vec<lsp::InlayHint> {
    let figures: Vec<(usize, ReadingKey, String, String)> = page
        .with_job(|job| {
            let circuits = job.circuits();
            circuits
                .flat_map(|circuit| {
                    let taken = ReadingKey::ALL.iter().copied().filter(|key| key.is_in(circuit.readings()));
                    let expected = expected(circuit);
                    taken
                        .filter_map(|key| {
                            let bound = limits::bound(circuit, key);
                            let figure = expected.as_ref().filter(|expected| expected.key == key);
                            match (bound, figure) {
                                (Some(bound), _) => Some((circuit.index, key, bound.words(), bound.limit.source.into_owned())),
                                (None, Some(figure)) => Some((circuit.index, key, figure.words(), figure.sources())),
                                (None, None) => None,
                            }
                        })
                        .collect::<Vec<_>>()
                })
                .collect()
        })
        .unwrap_or_default();
    let Some((source, places)) = page.places() else { return Vec::new() };
    let hint = |(circuit, key, words, authority): (usize, ReadingKey, String, String)| {
        let path = path!["circuits", circuit, "readings", Step::from(key.as_str())];
        let span = places.span(&source, &path);
        let is_shown = places.has(&path) && span.end >= within.start && span.end <= within.end;
        is_shown.then(|| {
            let closing = usize::from(page.text[span.end..].starts_with(['"', '\'']));
            lsp::InlayHint {
                position: page.lines.position(span.end + closing),
                label: lsp::Label::String(words),
                tooltip: Some(lsp::Tooltip::String(authority)),
                padding_left: Some(true),
                kind: None,
                text_edits: None,
                padding_right: None,
                data: None,
            }
        })
    };
    figures.into_iter().filter_map(hint).collect()
}
