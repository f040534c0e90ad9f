//! A site's photographs: copied without anything but the picture, so that no copy tells where it was taken, and none where the site asks
//! for none.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::Page;
use super::layout::{Here, link};
use crate::book::{Book, SiteFiles};
use crate::pack::picture::bare;
use crate::record::Photographs;
use crate::rules::privacy::is_picture;
use crate::rules::view::SiteView;

/// A photograph of a site.
pub struct Picture {
    /// The file, relative to the book's root.
    file: String,
    /// What the records say of it; empty where they only name it.
    words: String,
    /// Its copy, or why there is none.
    copy: Result<Page, &'static str>,
}

impl Picture {
    /// The copy, where there is one.
    pub fn into_page(self) -> Option<Page> {
        self.copy.ok()
    }
}

/// Where the copies of a site's photographs would lie, allowed or not.
pub fn paths(files: &SiteFiles) -> impl Iterator<Item = String> {
    files.others.iter().filter(|file| is_picture(file)).map(|file| path_of(file))
}

/// `photos/oak-lane/photos/box.jpg` for `sites/oak-lane/photos/box.jpg`.
fn path_of(file: &str) -> String {
    format!("photos/{}", file.strip_prefix("sites/").unwrap_or(file))
}

/// The photographs of a site that asks for none to be kept: nothing. Else each with its copy.
pub fn of(book: &Book, view: &SiteView<'_>) -> Vec<Picture> {
    if is_refused(view) {
        return Vec::new();
    }
    let words = words(view);
    let pictures = view.records.files.others.iter().filter(|file| is_picture(file));
    pictures
        .map(|file| {
            let inner = file.strip_prefix(&format!("sites/{}/", view.id())).unwrap_or(file);
            let copy = bare(book, file);
            Picture {
                file: file.clone(),
                words: words.get(inner).cloned().unwrap_or_default(),
                copy: copy.map(|bytes| Page { path: path_of(file), bytes }),
            }
        })
        .collect()
}

fn is_refused(view: &SiteView<'_>) -> bool {
    view.site().and_then(|site| site.privacy.as_ref()?.photographs) == Some(Photographs::None)
}

/// What the records say of each picture, by its path in the site's folder: the place of the joint that it shows.
fn words(view: &SiteView<'_>) -> BTreeMap<String, String> {
    let joints = view.records.jobs.iter().flat_map(|job| &job.data.joints);
    joints.filter_map(|joint| Some((joint.photo.clone()?, joint.place.clone()?))).collect()
}

/// The photographs as a section; nothing where the site has none.
pub fn shown(here: Here, view: &SiteView<'_>, pictures: &[Picture]) -> Option<Markup> {
    paths(&view.records.files).next()?;
    if is_refused(view) {
        return Some(html! { p { "None are shown or named: the site asks for none (privacy.photographs: none)." } });
    }
    let (copied, left_out): (Vec<&Picture>, Vec<&Picture>) = pictures.iter().partition(|picture| picture.copy.is_ok());
    Some(html! {
        @if !copied.is_empty() { p { "Copies of the picture alone: no place, no day and no camera is kept in them." } }
        div.pictures {
            @for picture in copied {
                @if let Ok(page) = &picture.copy {
                    figure {
                        a href=(here.to(&link(&page.path))) {
                            img src=(here.to(&link(&page.path))) loading="lazy" alt=(alternative(picture));
                        }
                        figcaption { @if !picture.words.is_empty() { (picture.words) " " } span.place { (picture.file) } }
                    }
                }
            }
        }
        @if !left_out.is_empty() {
            p { "Named and not shown:" }
            ul { @for picture in left_out { li { span.place { (picture.file) } @if let Err(why) = &picture.copy { ": " (why) } } } }
        }
    })
}

/// The picture for who cannot see it: as much as the records say.
fn alternative(picture: &Picture) -> String {
    let name = picture.file.rsplit('/').next().unwrap_or_default();
    if picture.words.is_empty() {
        format!("Photograph {name}; the records do not say what it shows")
    } else {
        format!("Photograph: {}", picture.words)
    }
}
