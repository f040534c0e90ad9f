//! Places to sign. A printed name is no signature: it stands beneath the line.

use super::Visit;
use super::model::{Block, Section, Signature, Value};
use super::words::Phrase as P;

impl Visit<'_> {
    /// A place to sign for each of these: for what, what is declared, and by whom.
    pub(super) fn sign(&self, places: &[(P, P, Option<&str>)]) -> Section {
        let place = |(item, declares, who): &(P, P, Option<&str>)| Signature { item: *item, declares: *declares, name: self.person(*who) };
        Section::new(P::Signing, vec![Block::Sign(places.iter().map(place).collect())])
    }

    /// The same with a place for whoever receives the paper.
    pub(super) fn sign_with_receipt(&self, place: (P, P, Option<&str>)) -> Section {
        let mut section = self.sign(&[place]);
        if let Some(Block::Sign(signatures)) = section.blocks.first_mut() {
            signatures.push(Signature { item: P::SignReceived, declares: P::DeclareReceived, name: Value::ByHand });
        }
        section
    }
}
