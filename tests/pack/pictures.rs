//! Pictures that tell more than they show, made here byte by byte, and what is left of them.

/// Words that stand in every corner of these files where a camera or a telephone writes something.
pub const TELLTALE: &str = "PLACE-OF-THE-PICTURE";

/// A latitude and which way up, in EXIF of big-endian order: IFD0 with Orientation 6, a maker's name and the GPS IFD.
fn exif() -> Vec<u8> {
    let mut bytes = b"MM\0\x2a\0\0\0\x08\0\x03".to_vec();
    // Make (0x010f), ASCII, behind the directories at 92.
    bytes.extend(b"\x01\x0f\0\x02\0\0\0\x15\0\0\0\x5c");
    // Orientation (0x0112), SHORT, 6: turned right.
    bytes.extend(b"\x01\x12\0\x03\0\0\0\x01\0\x06\0\0");
    // The GPS directory (0x8825) at 50.
    bytes.extend(b"\x88\x25\0\x04\0\0\0\x01\0\0\0\x32\0\0\0\0");
    assert_eq!(bytes.len(), 50);
    // GPSLatitudeRef N; GPSLatitude, three rationals behind the maker's name.
    bytes.extend(b"\0\x02\0\x01\0\x02\0\0\0\x02N\0\0\0\0\x02\0\x05\0\0\0\x03\0\0\0\x72\0\0\0\0");
    bytes.extend([0; 12]);
    assert_eq!(bytes.len(), 92);
    bytes.extend(TELLTALE.as_bytes());
    bytes.extend([0, 0]);
    assert_eq!(bytes.len(), 114);
    bytes.extend(b"\0\0\0\x01\0\0\0\x01\0\0\0\x02\0\0\0\x01\0\0\0\x03\0\0\0\x01");
    bytes
}

fn segment(marker: u8, content: &[u8]) -> Vec<u8> {
    let length = u16::try_from(content.len() + 2).unwrap().to_be_bytes();
    [&[0xff, marker], &length[..], content].concat()
}

/// What draws the picture: tables, a frame and two scans, with a stuffed 0xff and a restart in the first.
fn drawing(between: &[u8]) -> Vec<u8> {
    let mut bytes = segment(0xdb, &[0; 65]);
    bytes.extend(segment(0xc2, &[8, 0, 8, 0, 8, 1, 1, 0x11, 0]));
    bytes.extend(segment(0xc4, &[0; 18]));
    bytes.extend(segment(0xda, &[1, 1, 0, 0, 63, 0]));
    bytes.extend([0x12, 0xff, 0x00, 0x34, 0xff, 0xd0, 0x56]);
    bytes.extend(between);
    bytes.extend(segment(0xda, &[1, 1, 0, 0, 63, 0]));
    bytes.extend([0x78, 0x9a]);
    bytes
}

/// How the colours are coded, as an application segment says it.
const COLOURS: &[u8] = b"Adobe\0\x64\0\0\0\0\x01";

/// A JPEG with a place in EXIF, XMP and IPTC, a comment before and between its scans, words behind
/// its colours, a second picture behind it, and more behind that.
pub fn jpeg() -> Vec<u8> {
    let telltale = TELLTALE.as_bytes();
    let mut bytes = b"\xff\xd8".to_vec();
    bytes.extend(segment(0xe0, b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0"));
    bytes.extend(segment(0xe1, &[b"Exif\0\0", &exif()[..]].concat()));
    bytes.extend(segment(0xe1, &[b"http://ns.adobe.com/xap/1.0/\0<x exif:GPSLatitude='1'/>", telltale].concat()));
    bytes.extend(segment(0xe2, &[b"MPF\0", telltale].concat()));
    bytes.extend(segment(0xe2, &[b"ICC_PROFILE\0\x01\x01", telltale].concat()));
    bytes.extend(segment(0xed, &[b"Photoshop 3.0\0", telltale].concat()));
    bytes.extend(segment(0xfe, telltale));
    bytes.extend(segment(0xee, &[COLOURS, telltale].concat()));
    bytes.extend(drawing(&segment(0xfe, telltale)));
    bytes.extend(b"\xff\xd9");
    bytes.extend([b"\xff\xd8", telltale, b"\xff\xd9", telltale].concat());
    bytes
}

/// What may be left of it: the drawing, and EXIF that says which way up and nothing else.
pub fn bare_jpeg() -> Vec<u8> {
    let mut bytes = b"\xff\xd8".to_vec();
    bytes.extend(segment(0xe1, b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0"));
    bytes.extend(segment(0xee, COLOURS));
    bytes.extend(drawing(&[]));
    bytes.extend(b"\xff\xd9");
    bytes
}

fn chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    // Nobody here looks at the checksum.
    [&u32::try_from(content.len()).unwrap().to_be_bytes()[..], kind, content, &[0; 4]].concat()
}

fn png_of(chunks: &[Vec<u8>]) -> Vec<u8> {
    [b"\x89PNG\r\n\x1a\n".to_vec(), chunks.concat()].concat()
}

/// A PNG with a place in EXIF and words in three kinds of text chunk, one of a maker's own, one too long for its kind, and
/// behind its end.
pub fn png() -> Vec<u8> {
    let telltale = TELLTALE.as_bytes();
    let text = |kind| chunk(kind, &[b"Comment\0", telltale].concat());
    let head = chunk(b"IHDR", &[0; 13]);
    let words =
        [chunk(b"eXIf", &exif()), text(b"tEXt"), text(b"zTXt"), text(b"iTXt"), text(b"maKr"), text(b"gAMA"), chunk(b"tIME", &[7; 7])];
    let mut bytes = png_of(&[vec![head], words.to_vec(), vec![chunk(b"IDAT", b"drawn"), chunk(b"IEND", b"")]].concat());
    bytes.extend(telltale);
    bytes
}

pub fn bare_png() -> Vec<u8> {
    png_of(&[chunk(b"IHDR", &[0; 13]), chunk(b"IDAT", b"drawn"), chunk(b"IEND", b"")])
}

fn riff(chunks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
    let mut inner = b"WEBP".to_vec();
    for (kind, content) in chunks {
        inner.extend(*kind);
        inner.extend(u32::try_from(content.len()).unwrap().to_le_bytes());
        inner.extend(*content);
        inner.extend(vec![0; content.len() % 2]);
    }
    [b"RIFF", &u32::try_from(inner.len()).unwrap().to_le_bytes()[..], &inner].concat()
}

/// A WebP with EXIF, XMP and a profile, and bytes behind its end.
pub fn webp() -> Vec<u8> {
    let telltale = TELLTALE.as_bytes();
    let exif = exif();
    let mut bytes = riff(&[
        (b"VP8X", &[0b0011_1100, 0, 0, 0, 7, 0, 0, 7, 0, 0]),
        (b"ICCP", telltale),
        (b"ALPH", b"abc"),
        (b"VP8 ", b"drawn!"),
        (b"EXIF", &exif),
        (b"XMP ", telltale),
    ]);
    bytes.extend(telltale);
    bytes
}

pub fn bare_webp() -> Vec<u8> {
    // Alpha is drawn and stays announced.
    riff(&[(b"VP8X", &[0b0001_0000, 0, 0, 0, 7, 0, 0, 7, 0, 0]), (b"ALPH", b"abc"), (b"VP8 ", b"drawn!")])
}

/// The beginning of a HEIC file: a kind that cannot be stripped here.
pub fn heic() -> Vec<u8> {
    [&b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"[..], TELLTALE.as_bytes()].concat()
}
