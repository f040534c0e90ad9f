//! A device as it is said aloud: `BS EN 61009-1 B40`, `BS 88-3 32 A`.

use crate::record::{Num, Ocpd};
use crate::tables::DeviceStandard;

/// Reads standard, curve and rating from a few words. What is wrong comes back as words that teach.
pub fn parse(text: &str) -> Result<Ocpd, String> {
    const HOW: &str = "a device is its standard, curve and rating, as in \"BS EN 61009-1 B40\" or \"BS 88-3 32 A\"";
    let mut words: Vec<&str> = text.split_whitespace().collect();
    if words.last().is_some_and(|word| word.eq_ignore_ascii_case("A")) {
        words.pop();
    }
    let last = words.pop().ok_or(HOW)?;
    let last = last.strip_suffix(['A', 'a']).unwrap_or(last);
    let digits = last.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = &last[..last.len() - digits.len()];
    let rating: Num = digits.parse().map_err(|_| HOW)?;
    let mut curve = (!letters.is_empty()).then(|| letters.to_ascii_uppercase());
    // `type 2 30 A` of an old breaker, and `B 32`.
    if curve.is_none()
        && let [.., before, word] = words.as_slice()
        && (word.len() == 1 && (word.chars().all(|c| c.is_ascii_alphabetic()) || before.eq_ignore_ascii_case("type")))
    {
        curve = words.pop().map(str::to_ascii_uppercase);
    }
    if words.last().is_some_and(|word| word.eq_ignore_ascii_case("type")) {
        words.pop();
    }
    let standard = DeviceStandard::parse(&words.join(" ")).filter(|standard| standard.is_overcurrent_device()).ok_or(HOW)?;
    let known = |curve: &String| standard.curves().contains(&curve.as_str());
    if standard.is_breaker() && !curve.as_ref().is_some_and(known) {
        let curves = standard.curves().join(", ");
        return Err(format!(
            "a breaker to {standard} has one of the curves {curves}, as in \"{standard} {}{rating}\"",
            standard.curves()[0]
        ));
    }
    if standard.is_fuse() && curve.is_some() {
        return Err(format!("a fuse to {standard} has no curve: \"{standard} {rating} A\""));
    }
    if *rating <= 0.0 {
        return Err(HOW.to_owned());
    }
    Ok(Ocpd { standard: Some(standard.as_str().to_owned()), curve, rating_a: Some(rating), ..Ocpd::default() })
}

/// The words for a device.
pub fn words(ocpd: &Ocpd) -> String {
    let standard = ocpd.standard.clone().unwrap_or_default();
    let rating = ocpd.rating_a.map(|rating| rating.to_string());
    let rest = match (ocpd.curve.as_deref(), rating) {
        (Some(curve), Some(rating)) if curve.len() == 1 && curve.chars().all(char::is_alphabetic) => format!("{curve}{rating}"),
        (Some(curve), Some(rating)) => format!("type {curve} {rating} A"),
        (None, Some(rating)) => format!("{rating} A"),
        (Some(curve), None) => format!("type {curve}"),
        (None, None) => String::new(),
    };
    [standard, rest].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}
