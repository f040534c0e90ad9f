//! A bar for whoever is watching a long run.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::Screen;

/// Fewest sites that a bar is worth.
const LEAST: usize = 200;

/// Sites done, for whoever is watching; a run shorter than a second shows nothing. `doing` is the word before the bar.
pub(super) fn bar(doing: &str, sites: usize, screen: &Screen) -> ProgressBar {
    if !screen.is_watched() || sites < LEAST {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{msg} sites {bar:30} {pos}/{len}").unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::with_draw_target(Some(sites as u64), ProgressDrawTarget::hidden()).with_style(style);
    bar.set_message(doing.to_owned());
    let watched = bar.clone();
    std::thread::spawn(move || {
        std::thread::sleep(Duration::from_secs(1));
        if !watched.is_finished() {
            watched.set_draw_target(ProgressDrawTarget::stderr());
        }
    });
    bar
}
