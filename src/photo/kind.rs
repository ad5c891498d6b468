//! What kind of file it is, by its first bytes, and what to tell a person whose file is no photo.

/// A kind of picture that can be decoded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Jpeg,
    Png,
    Tiff,
    WebP,
}

/// How many of the first bytes [`of`] wants to see.
pub(super) const HEAD_BYTES: usize = 4096;

/// What to do with a file in one of the phones' own formats.
const PHONE_ADVICE: &str = "a phone stores such pictures to save room, and this program can't \
     read them: share or export the picture as JPEG from the phone's photo app, or set its camera \
     to save JPEG (often called \"most compatible\") and take the photo again";

/// The kind of picture that begins with these bytes, or why it is none and what to do.
pub(super) fn of(head: &[u8]) -> Result<Kind, String> {
    match head {
        [0xff, 0xd8, 0xff, ..] => Ok(Kind::Jpeg),
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => Ok(Kind::Png),
        [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => Ok(Kind::Tiff),
        [
            b'R',
            b'I',
            b'F',
            b'F',
            _,
            _,
            _,
            _,
            b'W',
            b'E',
            b'B',
            b'P',
            ..,
        ] => Ok(Kind::WebP),
        _ => Err(why_not(head)),
    }
}

fn why_not(head: &[u8]) -> String {
    if head.is_empty() {
        return "the file is empty: copy it again from the phone, the camera or the scanner"
            .to_owned();
    }
    if head.get(4..8) == Some(b"ftyp") {
        return why_not_boxes(head);
    }
    const KNOWN: [(&[u8], &str); 9] = [
        (
            b"%PDF",
            "is a PDF document: scan or save the page as a picture (JPEG, PNG or TIFF) instead",
        ),
        (
            b"GIF8",
            "is a GIF, which keeps too few colours to measure by: save the photo as JPEG or PNG",
        ),
        (b"BM", "is a BMP picture: save it as PNG or JPEG"),
        (
            b"8BPS",
            "is a layered picture: save a flat copy as PNG or TIFF",
        ),
        (
            b"\xff\x0a",
            "is a JPEG XL picture: save it as JPEG, PNG or TIFF",
        ),
        (
            b"\x00\x00\x00\x0cjP  ",
            "is a JPEG 2000 picture: save it as JPEG, PNG or TIFF",
        ),
        (
            b"PK\x03\x04",
            "is a ZIP archive: unpack it and give the photo",
        ),
        (b"<svg", "is an SVG drawing: give a photo or a scan"),
        (
            b"\xff\xd8",
            "is a JPEG cut off at its very start: copy it again",
        ),
    ];
    for (start, words) in KNOWN {
        if head.starts_with(start) {
            return words.to_owned();
        }
    }
    let what = if head.iter().all(|&b| b >= 0x20 || b.is_ascii_whitespace()) {
        "is a text file"
    } else {
        "is no picture that this program knows"
    };
    format!("{what}: give a photo or a scan as JPEG, PNG, TIFF or WebP")
}

/// Words for a file made of boxes (`ftyp`), by its brands.
fn why_not_boxes(head: &[u8]) -> String {
    let length = head
        .first_chunk::<4>()
        .map_or(0, |four| u32::from_be_bytes(*four));
    let end = usize::try_from(length)
        .unwrap_or(usize::MAX)
        .min(head.len());
    let brands: Vec<&[u8]> = head
        .get(8..end)
        .unwrap_or_default()
        .chunks_exact(4)
        .collect();
    let any = |names: &[&[u8; 4]]| brands.iter().any(|b| names.iter().any(|n| b == n));
    if any(&[b"avif", b"avis"]) {
        format!("is an AVIF picture; {PHONE_ADVICE}")
    } else if any(&[b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx"]) {
        format!("is a HEIC picture; {PHONE_ADVICE}")
    } else if any(&[b"mif1", b"msf1", b"heif"]) {
        format!("is a HEIF picture; {PHONE_ADVICE}")
    } else {
        "is a film or another file that is no photo: give a photo as JPEG, PNG, TIFF or WebP"
            .to_owned()
    }
}
