//! Photographs: those that should be there, those that should not, and what they give away.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::location;
use crate::book::{FaultKind, FieldPath, SourceFile};
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Access, Fault, JobKind, JointKind, Photographs, Symptom, Use};
use crate::rules::view::{JobView, SiteView};
use crate::rules::{Check, Example, Family, Report, Rule};

pub const MISSING: Rule = Rule {
    id: "photograph-missing",
    family: Family::Privacy,
    grade: Grade::Doubt,
    title: "The one picture that will be asked for is not there, and nothing says why",
    looks_at: "Finished visits that install or swap a charge point, and joints that are covered or out of reach. Quiet when the visit names a photograph or one of its day is in the site's folder, when the text says why there is none, when the site allows none, for maintenance-free joints, and for a unit with heat damage, which asks for its own.",
    why: "A terminal, a label or a joint that is covered cannot be photographed afterwards, and it is the first thing a maker, an insurer or the next electrician asks for.",
    sources: &["common practice"],
    bad: Example::Keys("sites/elm-row/2026-11-02-shed.md: {body: Charge point on the garage wall.}"),
    good: Example::Keys(
        "sites/elm-row/2026-11-02-shed.md: {body: Charge point on the garage wall. No photographs were taken at the customer's wish.}",
    ),
    cure: "Add the photograph under photos/ and name it, or say in the text why there is none.",
    check: Check::Job(check_missing),
};

pub const NOT_NAMED: Rule = Rule {
    id: "photograph-not-named",
    family: Family::Privacy,
    grade: Grade::Tidy,
    title: "A photograph in the site's folder belongs to no visit",
    looks_at: "Pictures in a site's folder that no record of the site names. Quiet for a file whose name begins with the date of a visit.",
    why: "In five years nobody knows what it shows, and it cannot be left out of what is handed over.",
    sources: &["common practice"],
    bad: Example::File { path: "sites/elm-row/photos/dsc_0412.jpg", bytes: PICTURE },
    good: Example::File { path: "sites/elm-row/photos/2026-11-02-board.jpg", bytes: PICTURE },
    cure: "Name it in the visit's text, as in ![the board](photos/board.jpg), begin its name with the visit's date, or delete it.",
    check: Check::Site(check_named),
};

pub const FORBIDDEN: Rule = Rule {
    id: "photograph-forbidden",
    family: Family::Privacy,
    grade: Grade::Breach,
    title: "A photograph is kept of a site that allows none",
    looks_at: "Pictures in the folder of a site whose privacy says `photographs: none`.",
    why: "It breaks a promise to the customer, and what is in the book is copied wherever the book goes.",
    sources: &["UK GDPR article 5(1)(c)", "common practice"],
    bad: Example::Keys(
        "sites/elm-row/site.md: {privacy: {photographs: none}}\nsites/elm-row/photos/2026-11-02-board.jpg: {body: not a picture}",
    ),
    good: Example::Keys(
        "sites/elm-row/site.md: {privacy: {photographs: record-only}}\nsites/elm-row/photos/2026-11-02-board.jpg: {body: not a picture}",
    ),
    cure: "Delete it, in the history of the repository too if it was ever pushed; or correct the site's privacy with the customer's leave and its date.",
    check: Check::Site(check_forbidden),
};

pub const TELLS_PLACE: Rule = Rule {
    id: "photograph-tells-the-place",
    family: Family::Privacy,
    grade: Grade::Breach,
    title: "A photograph carries the place where it was taken",
    looks_at: "EXIF and XMP of the pictures in each site's folder: JPEG, PNG, HEIC, WebP, TIFF. The place itself is not shown.",
    why: "Whoever gets the picture, or a copy of the repository, gets the customer's address with it; an earlier commit keeps it for ever.",
    sources: &["UK GDPR article 5(1)(c)", "common practice"],
    bad: Example::File { path: "sites/elm-row/photos/2026-11-02-board.jpg", bytes: PICTURE_WITH_PLACE },
    good: Example::File { path: "sites/elm-row/photos/2026-11-02-board.jpg", bytes: PICTURE },
    cure: "Strip the location before you commit, and turn it off in the camera. If it was committed already, the history holds it still.",
    check: Check::Site(check_place),
};

/// A JPEG with an empty EXIF directory.
const PICTURE: &[u8] = b"\xff\xd8\xff\xe1\x00\x16Exif\0\0MM\0\x2a\0\0\0\x08\0\0\0\0\0\0\xff\xd9";

/// A JPEG whose EXIF holds a latitude, of nowhere in particular.
const PICTURE_WITH_PLACE: &[u8] = b"\xff\xd8\xff\xe1\x00\x58Exif\0\0MM\0\x2a\0\0\0\x08\
\0\x01\x88\x25\0\x04\0\0\0\x01\0\0\0\x1a\0\0\0\0\
\0\x02\0\x01\0\x02\0\0\0\x02N\0\0\0\0\x02\0\x05\0\0\0\x03\0\0\0\x38\0\0\0\0\
\0\0\0\x01\0\0\0\x01\0\0\0\x02\0\0\0\x01\0\0\0\x03\0\0\0\x01\xff\xd9";

/// Endings of picture files.
const ENDINGS: [&str; 9] = ["jpg", "jpeg", "png", "heic", "heif", "webp", "tif", "tiff", "avif"];

/// Whether a file's name ends as a picture's does.
pub fn is_picture(file: &str) -> bool {
    file.rsplit_once('.').is_some_and(|(_, ending)| ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

/// The pictures in a site's folder, by their paths in the book.
fn pictures<'a>(site: &SiteView<'a>) -> impl Iterator<Item = &'a str> {
    site.records.files.others.iter().map(String::as_str).filter(|file| is_picture(file))
}

fn name_of(file: &str) -> &str {
    file.rsplit('/').next().unwrap_or(file)
}

/// A picture as the place of a finding: a file that is never shown as text.
fn place_of(file: &str) -> Place {
    let source = SourceFile::unread(file.to_owned());
    Place::bytes(&Arc::new(source), FieldPath::root(), 0..0)
}

fn allows_none(site: &SiteView<'_>) -> bool {
    site.site().and_then(|site| site.privacy.as_ref()).and_then(|privacy| privacy.photographs) == Some(Photographs::None)
}

/// What a visit's record names as pictures.
fn named_by<'a>(job: JobView<'a>) -> impl Iterator<Item = &'a str> {
    let joints = job.data().joints.iter().filter_map(|joint| joint.photo.as_deref());
    let links = job.record.body.links.iter().map(|link| link.target.as_str()).filter(|target| is_picture(target));
    joints.chain(links)
}

/// Whether a text says that there are no pictures, or why.
fn explains_absence(body: &str) -> bool {
    let negations = ["no ", "not ", "none", "without", "refused", "declined", "forgot", "n't", "withheld"];
    body.split(['.', '\n']).any(|sentence| {
        let sentence = sentence.to_lowercase();
        (sentence.contains("photo") || sentence.contains("picture")) && negations.iter().any(|word| sentence.contains(word))
    })
}

fn check_missing(job: JobView<'_>, report: &mut Report<'_>) {
    // Where the end of the record was cut off, the words that say why there is none may have gone with it.
    let cut_off = job.record.faults.iter().any(|fault| fault.kind == FaultKind::Unclosed);
    if cut_off || !job.is_finished() || allows_none(job.site) || explains_absence(job.record.source.body_text()) {
        return;
    }
    let day = job.id().get(..10).unwrap_or_default();
    let has_picture = named_by(job).next().is_some() || pictures(job.site).any(|file| name_of(file).starts_with(day));
    let fits_unit = |circuit: &crate::rules::view::CircuitView<'_>| {
        let fitted = job
            .data()
            .units
            .iter()
            .any(|unit| unit.event == Some(crate::record::UnitEvent::Fitted) && unit.circuit.as_deref() == Some(circuit.id()));
        circuit.usage() == Some(Use::Ev) && (circuit.is_new() || fitted)
    };
    let work = job.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Swap]);
    // Heat damage asks for its own pictures; one missing thing is told once.
    let heat = |id: &str| {
        let hot = |fault: &Fault| fault.cut_back_mm.is_some() || matches!(fault.symptom, Some(Symptom::Heat | Symptom::BurningSmell));
        job.data().faults.iter().any(|fault| fault.circuit.as_deref() == Some(id) && hot(fault))
    };
    if let Some(circuit) = job.circuits().find(|circuit| work && !has_picture && fits_unit(circuit) && !heat(circuit.id())) {
        let message = "a charge point, and no photograph of it or of its terminations";
        report.raise(circuit.place(), message).subject(circuit.id());
    }
    for (index, joint) in job.data().joints.iter().enumerate() {
        let hidden = matches!(joint.access, Some(Access::Covered | Access::None)) && joint.kind != Some(JointKind::MaintenanceFree);
        if hidden && joint.photo.is_none() && !has_picture {
            let at = joint.place.as_deref().unwrap_or("this joint");
            let message = "a joint that cannot be seen again, and no photograph of it";
            report.raise(job.place(path!["joints", index, "photo"]), message).subject(at);
        }
    }
}

fn check_named(site: &SiteView<'_>, report: &mut Report<'_>) {
    let days: BTreeSet<&str> = site.jobs().filter_map(|job| job.id().get(..10)).collect();
    // A record that could not be read may name anything.
    if site.jobs().any(|job| job.record.lost) {
        return;
    }
    let in_site = site.record().into_iter().flat_map(|record| record.body.links.iter().map(|link| link.target.as_str()));
    let named: BTreeSet<&str> = site.jobs().flat_map(named_by).chain(in_site).map(name_of).collect();
    for file in pictures(site) {
        let name = name_of(file);
        let dated = name.get(..10).is_some_and(|day| days.contains(day));
        if !dated && !named.contains(name) {
            report.raise(place_of(file), "no record of this site names it").subject(name);
        }
    }
}

fn check_forbidden(site: &SiteView<'_>, report: &mut Report<'_>) {
    if !allows_none(site) {
        return;
    }
    for file in pictures(site) {
        let finding = report.raise(place_of(file), "kept, and this site allows no photographs");
        finding.subject(name_of(file)).because(site.place(path!["privacy", "photographs"]), "asked for here");
    }
}

fn check_place(site: &SiteView<'_>, report: &mut Report<'_>) {
    for file in pictures(site) {
        if site.book.files.open(file).is_ok_and(location::has_location) {
            let message = "carries the place where it was taken";
            report.raise(place_of(file), message).subject(name_of(file));
        }
    }
}
