//! Pictures.

use ampledger::pack::picture;

/// Photographs: what is handed over has no place, is what stripping once more gives, and is no longer than what came in and the way up.
pub fn exif(bytes: &[u8]) {
    let _ = ampledger::rules::privacy::has_location(std::io::Cursor::new(bytes));
    let Ok(bare) = picture::strip(bytes) else { return };
    assert_eq!(picture::strip(&bare).as_ref(), Ok(&bare), "twice is not once");
    assert!(picture::is_bare(&bare), "something is left in it");
    if let Some(kept) = parts(&bare).into_iter().find(|part| !may_stay(part)) {
        panic!("{kept:?} is left in it");
    }
    assert!(!ampledger::rules::privacy::has_location(std::io::Cursor::new(&bare)), "the place is left in it");
    assert!(bare.len() <= bytes.len() + 40, "{} bytes out of {}", bare.len(), bytes.len());
}

/// A segment or a chunk of a picture, with what it holds.
type Part<'a> = (&'a [u8], &'a [u8]);

/// What a picture consists of, read here by other means than in the program; the bytes of a scan are no part.
fn parts(picture: &[u8]) -> Vec<Part<'_>> {
    let mut parts = Vec::new();
    if let Some(chunks) = picture.strip_prefix(b"\x89PNG\r\n\x1a\n") {
        let mut rest = chunks;
        while let Some((length, after)) = rest.split_first_chunk::<4>() {
            let length = u32::from_be_bytes(*length) as usize;
            parts.push((&after[..4], &after[4..4 + length]));
            rest = &after[8 + length..];
        }
    } else if picture.starts_with(b"RIFF") {
        let mut rest = &picture[12..];
        while let Some((head, after)) = rest.split_first_chunk::<8>() {
            let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
            parts.push((&rest[..4], &after[..length]));
            rest = &after[length + length % 2..];
        }
    } else {
        let mut rest = &picture[2..];
        while let [0xff, marker, after @ ..] = rest {
            if *marker == 0xd9 {
                assert!(after.is_empty(), "bytes behind the end");
                break;
            }
            let length = usize::from(u16::from_be_bytes([after[0], after[1]])).max(2);
            parts.push((&rest[1..2], &after[2..length]));
            rest = &after[length..];
            while *marker == 0xda && !matches!(rest, [0xff, next, ..] if !matches!(next, 0 | 0xff | 0xd0..=0xd7)) {
                rest = &rest[1..];
            }
        }
    }
    parts
}

/// Whether a part draws the picture, or says no more than how its colours are coded and which way up it is.
fn may_stay((kind, content): &Part<'_>) -> bool {
    match *kind {
        [0xc0..=0xcf | 0xda..=0xde] => true,
        [0xee] => content.len() == 12 && content.starts_with(b"Adobe"),
        [0xe1] => {
            content.len() == 32
                && content.starts_with(b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0")
                && (1..=8).contains(&content[25])
                && content[26..].iter().all(|byte| *byte == 0)
        }
        b"IHDR" | b"PLTE" | b"tRNS" => content.len() <= 768,
        b"gAMA" | b"cHRM" | b"sRGB" | b"pHYs" => content.len() <= 32,
        b"IEND" => content.is_empty(),
        b"IDAT" | b"VP8 " | b"VP8L" | b"ALPH" => true,
        b"VP8X" => content.first().is_some_and(|flags| flags & 0b0010_1110 == 0),
        _ => false,
    }
}
