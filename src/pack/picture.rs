//! A photograph without anything but its picture: no place, no day, no camera, no caption, no second picture behind it.
//!
//! Files are taken apart into their segments or chunks, and only those that a decoder needs to draw the picture are put together again,
//! byte for byte. Nothing is decoded or pressed anew. What is not known to be needed goes: a list of what to keep cannot forget a kind of
//! metadata that a maker invents next year. A colour profile goes too, since it can hold text. A JPEG keeps one thing of its EXIF, which
//! way up it is.

use std::io::Cursor;

use exif::{In, Tag};

use crate::book::Book;
use crate::system;

/// More bytes than any photograph of a board.
const MAX_PICTURE_BYTES: u64 = 64 * 1024 * 1024;

const TOO_LARGE: &str = "it is larger than any photograph of an installation";
const UNREADABLE: &str = "it could not be read";

/// Why a picture cannot be handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// Its kind is not one that can be stripped here.
    Kind,
    /// It is damaged, or not of the kind that it says.
    Damaged,
}

impl Unfit {
    /// The reason in words.
    pub const fn words(self) -> &'static str {
        match self {
            Unfit::Kind => "a picture of this kind cannot be stripped of its place here; save it as JPEG or PNG",
            Unfit::Damaged => "it is damaged or no picture, so that nothing can be stripped from it",
        }
    }
}

/// A photograph of the book, the picture alone; why there is none in words.
pub fn bare(book: &Book, path: &str) -> Result<Vec<u8>, &'static str> {
    // Links were left out when the book was walked; one that took a picture's place since then is not followed either.
    let whole = book.plain_file(path).ok_or(UNREADABLE)?;
    if whole.metadata().map_err(|_| UNREADABLE)?.len() > MAX_PICTURE_BYTES {
        return Err(TOO_LARGE);
    }
    let bytes = system::read(&whole).map_err(|_| UNREADABLE)?;
    strip(&bytes).map_err(Unfit::words)
}

/// The picture alone: JPEG, PNG and WebP.
pub fn strip(bytes: &[u8]) -> Result<Vec<u8>, Unfit> {
    if bytes.starts_with(&JPEG_START) {
        jpeg(bytes).ok_or(Unfit::Damaged)
    } else if bytes.starts_with(PNG_START) {
        png(bytes).ok_or(Unfit::Damaged)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        webp(bytes)
    } else if is_other_picture(bytes) {
        Err(Unfit::Kind)
    } else {
        Err(Unfit::Damaged)
    }
}

/// TIFF in both byte orders, and the ISO base media files (HEIC, AVIF).
fn is_other_picture(bytes: &[u8]) -> bool {
    bytes.starts_with(b"II*\0") || bytes.starts_with(b"MM\0*") || bytes.get(4..8) == Some(b"ftyp")
}

/// Whether nothing but the picture is left: what stripping it once more would not change, with no EXIF but the way up.
pub fn is_bare(bytes: &[u8]) -> bool {
    let only_way_up = exif::Reader::new()
        .read_from_container(&mut Cursor::new(bytes))
        .map_or(true, |exif| exif.fields().all(|field| field.tag == Tag::Orientation));
    only_way_up && strip(bytes).is_ok_and(|again| again == bytes)
}

const JPEG_START: [u8; 3] = [0xff, 0xd8, 0xff];

/// JPEG (ITU-T T.81): the tables, frames and scans, and of the application segments only the one that says how its colours are coded.
fn jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut out = vec![0xff, 0xd8];
    out.extend(way_up(bytes).map(way_up_segment).unwrap_or_default());
    let mut at = 2;
    loop {
        // Any number of 0xff may stand before a marker.
        if *bytes.get(at)? != 0xff {
            return None;
        }
        while *bytes.get(at)? == 0xff {
            at += 1;
        }
        let marker = bytes[at];
        at += 1;
        if marker == 0xd9 {
            // What stands behind the end of the picture is not the picture.
            out.extend([0xff, 0xd9]);
            return Some(out);
        }
        let length = usize::from(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]));
        let segment = bytes.get(at..at.checked_add(length.max(2))?)?;
        at += segment.len();
        match marker {
            // Frames, Huffman and quantisation tables, restart interval, arithmetic conditioning, number of lines, scan.
            0xc0..=0xcf | 0xda..=0xde => {
                out.extend([0xff, marker]);
                out.extend(segment);
            }
            // What stands behind the code of the colours, which is the last that a decoder reads of it, could be anything.
            0xee if segment.get(2..7) == Some(b"Adobe") => {
                out.extend(segment.get(2..14).map(|known| [&[0xff, marker, 0, 14], known].concat()).unwrap_or_default());
            }
            _ => {}
        }
        if marker == 0xda {
            let scan = scan_length(&bytes[at..])?;
            out.extend(&bytes[at..at + scan]);
            at += scan;
        }
    }
}

/// The bytes of a scan, up to the next marker that is neither a stuffed 0xff nor a restart.
fn scan_length(bytes: &[u8]) -> Option<usize> {
    let is_marker = |pair: &[u8]| pair[0] == 0xff && !matches!(pair[1], 0x00 | 0xd0..=0xd7 | 0xff);
    bytes.windows(2).position(is_marker)
}

/// Which way up a photograph is held, where it is not as it stands: 2 to 8 of EXIF's Orientation.
fn way_up(bytes: &[u8]) -> Option<u8> {
    let exif = exif::Reader::new().continue_on_error(true).read_from_container(&mut Cursor::new(bytes));
    let exif = exif.or_else(|error| error.distill_partial_result(|_| ())).ok()?;
    let way = exif.get_field(Tag::Orientation, In::PRIMARY)?.value.get_uint(0)?;
    u8::try_from(way).ok().filter(|way| (2..=8).contains(way))
}

/// An EXIF segment that says only that.
fn way_up_segment(way: u8) -> Vec<u8> {
    let mut segment = vec![0xff, 0xe1, 0, 34];
    segment.extend(b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0");
    segment.extend([way, 0, 0, 0, 0, 0, 0]);
    segment
}

const PNG_START: &[u8] = b"\x89PNG\r\n\x1a\n";
/// The chunks of PNG (ISO/IEC 15948) that draw the picture, and the most bytes of each; all others are words about it.
const PNG_CHUNKS: [(&[u8; 4], usize); 9] = [
    (b"IHDR", 13),
    (b"PLTE", 768),
    (b"IDAT", usize::MAX),
    (b"IEND", 0),
    (b"tRNS", 256),
    (b"gAMA", 4),
    (b"cHRM", 32),
    (b"sRGB", 1),
    (b"pHYs", 9),
];

fn png(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut out = PNG_START.to_vec();
    let mut at = PNG_START.len();
    loop {
        let length = usize::try_from(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?)).ok()?;
        let kind = bytes.get(at + 4..at + 8)?;
        let chunk = bytes.get(at..at.checked_add(length)?.checked_add(12)?)?;
        // A chunk longer than its kind can be holds something else.
        if PNG_CHUNKS.iter().any(|(known, most)| *known == kind && length <= *most) {
            out.extend(chunk);
        }
        at += chunk.len();
        if kind == b"IEND" {
            return (length == 0).then_some(out);
        }
    }
}

/// In the header of an extended WebP: bits that say that a profile, EXIF or XMP follows.
const WEBP_METADATA: u8 = 0b0010_1100;
/// In the same byte: the picture moves, and its frames hold chunks of their own.
const WEBP_MOVES: u8 = 0b0000_0010;

fn webp(bytes: &[u8]) -> Result<Vec<u8>, Unfit> {
    let mut chunks = Vec::new();
    let size = usize::try_from(le(bytes, 4).ok_or(Unfit::Damaged)?).map_err(|_| Unfit::Damaged)?;
    let end = size.checked_add(8).filter(|end| *end <= bytes.len()).ok_or(Unfit::Damaged)?;
    let mut at = 12;
    while at < end {
        let kind = bytes.get(at..at + 4).ok_or(Unfit::Damaged)?;
        let length = usize::try_from(le(bytes, at + 4).ok_or(Unfit::Damaged)?).map_err(|_| Unfit::Damaged)?;
        let content = at.checked_add(8 + length).filter(|last| *last <= end).map(|last| &bytes[at + 8..last]).ok_or(Unfit::Damaged)?;
        // Chunks begin at even places.
        at += 8 + length + length % 2;
        let mut content = content.to_vec();
        match kind {
            b"VP8X" => {
                let flags = content.first_mut().ok_or(Unfit::Damaged)?;
                if *flags & WEBP_MOVES != 0 {
                    return Err(Unfit::Kind);
                }
                *flags &= !WEBP_METADATA;
            }
            b"VP8 " | b"VP8L" | b"ALPH" => {}
            _ => continue,
        }
        chunks.extend(kind);
        chunks.extend(u32::try_from(length).unwrap_or(u32::MAX).to_le_bytes());
        chunks.extend(&content);
        chunks.extend(vec![0; length % 2]);
    }
    if chunks.is_empty() {
        return Err(Unfit::Damaged);
    }
    let mut out = b"RIFF".to_vec();
    out.extend(u32::try_from(chunks.len() + 4).map_err(|_| Unfit::Damaged)?.to_le_bytes());
    out.extend(b"WEBP");
    out.extend(chunks);
    Ok(out)
}

fn le(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}
