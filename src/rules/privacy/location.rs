//! Whether a photograph says where it was taken. The place itself is never read out.

use std::io::{self, BufReader, Read, Seek, SeekFrom};

use exif::{In, Tag};

/// More bytes than the part of a photograph that precedes its picture; what lies beyond is not read.
const MAX_BYTES: u64 = 4 * 1024 * 1024;
/// Bytes at the start of a file that are searched for a location in text form (XMP).
const TEXT_BYTES: usize = 256 * 1024;

/// A file of which only so many bytes are ever read, wherever they stand: no length written in a damaged file can make us hold more.
struct Bounded<F> {
    file: F,
    left: u64,
}

impl<F: Read> Read for Bounded<F> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let most = usize::try_from(self.left).unwrap_or(usize::MAX).min(into.len());
        let read = self.file.read(&mut into[..most])?;
        self.left -= read as u64;
        Ok(read)
    }
}

impl<F: Seek> Seek for Bounded<F> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.file.seek(to)
    }
}

/// Whether a photograph carries a location: in EXIF (JPEG, PNG, HEIC, WebP, TIFF) or as XMP text near its start. A file that cannot be
/// read as a picture carries none that a program would find.
pub fn has_location(mut file: impl Read + Seek) -> bool {
    let mut start = Vec::new();
    if file.by_ref().take(TEXT_BYTES as u64).read_to_end(&mut start).is_err() || file.rewind().is_err() {
        return false;
    }
    let xmp = b"GPSLatitude";
    if start.windows(xmp.len()).any(|window| window == xmp) {
        return true;
    }
    let mut reader = BufReader::new(Bounded { file, left: MAX_BYTES });
    // A damaged field does not excuse the sound ones beside it.
    let read = exif::Reader::new().continue_on_error(true).read_from_container(&mut reader);
    let read = read.or_else(|error| error.distill_partial_result(|_| ()));
    read.is_ok_and(|exif| {
        [Tag::GPSLatitude, Tag::GPSLongitude]
            .iter()
            .any(|tag| [In::PRIMARY, In::THUMBNAIL].iter().any(|ifd| exif.get_field(*tag, *ifd).is_some()))
    })
}
