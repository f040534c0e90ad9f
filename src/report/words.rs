//! The words that the pages themselves say, in one place: names of pages and sections, and what a grade is called and shaped like.

use crate::record::Grade;

/// The language of the pages.
pub const LANGUAGE: &str = "en-GB";

/// What stands at the head of every page.
pub const CAUTION: &str = "Made from the records, as of the day above: what they say, and what they leave open. It certifies nothing, and a \
                           place with nothing listed here is not thereby in order. The current printed standard, safe isolation and your \
                           own judgement come first.";

/// What stands at the head of a copy with private details.
pub const PRIVATE: &str = "This copy holds private details. Keep it to yourself.";

/// Declares the sections: a name, its id in the page, and its heading.
macro_rules! sections {
    ($($name:ident = $id:literal $title:literal;)+) => {
        /// A section of a page.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Section { $($name),+ }

        impl Section {
            /// Its id in the page.
            pub const fn id(self) -> &'static str {
                match self { $(Section::$name => $id),+ }
            }

            /// Its heading.
            pub const fn title(self) -> &'static str {
                match self { $(Section::$name => $title),+ }
            }
        }
    };
}

sections! {
    Danger = "danger" "Dangers on record";
    Owed = "owed" "Owed";
    Counts = "counts" "Counted";
    Sites = "sites" "Sites";
    Findings = "findings" "Findings";
    Private = "private" "Private details";
    Supply = "supply" "Supply and earthing";
    Boards = "boards" "Boards";
    Circuits = "circuits" "Circuits as last recorded";
    Readings = "readings" "Circuit by circuit, over the years";
    Equipment = "equipment" "Equipment";
    Story = "story" "Visits";
    Photographs = "photographs" "Photographs";
    Rates = "rates" "How often models fail";
    InPlace = "in-place" "Units in place";
    Removed = "removed" "Units removed";
    Notices = "notices" "Safety notices";
    Instruments = "instruments" "Instruments and tools";
    Unknown = "not-in-the-register" "Named by visits, and not in the register";
    Answered = "answered" "Answered";
    Accepted = "accepted" "Accepted in the backlog";
}

/// A grade in a word, and the shape that says the same without colour.
pub const fn grade(grade: Grade) -> (&'static str, &'static str) {
    match grade {
        Grade::Danger => ("danger", "\u{25b2}"),
        Grade::Breach => ("breach", "\u{25a0}"),
        Grade::Doubt => ("doubt", "\u{25c6}"),
        Grade::Tidy => ("tidy", "\u{25cb}"),
    }
}

/// The grade's heading on the page of findings.
pub const fn grade_heading(grade: Grade) -> &'static str {
    match grade {
        Grade::Danger => "Dangers",
        Grade::Breach => "Breaches",
        Grade::Doubt => "Doubts",
        Grade::Tidy => "Tidies",
    }
}

/// What a grade means.
pub const fn grade_means(grade: Grade) -> &'static str {
    match grade {
        Grade::Danger => "somebody may be hurt",
        Grade::Breach => "a rule, a limit or a date is not met",
        Grade::Doubt => "probably wrong, or in need of a reason",
        Grade::Tidy => "a record that a reader will trip over",
    }
}
