//! Finds the EXIF block and the density in a file's own structure, without decoding a pixel.

use super::density::{self, Density};

/// What the parts of a file around its pixels say.
#[derive(Debug, Default)]
pub(super) struct Segments<'a> {
    /// The EXIF block, from its TIFF header on.
    pub(super) exif: Option<&'a [u8]>,
    /// The density of the JFIF header or of the `pHYs` chunk.
    pub(super) density: Option<Density>,
    /// How coarsely a JPEG rounds light, as a multiple of the standard's own example.
    pub(super) rounding: Option<f64>,
}

/// Walks a JPEG's marker segments up to its pixels.
pub(super) fn of_jpeg(file: &[u8]) -> Segments<'_> {
    let mut found = Segments::default();
    let mut at = 2;
    while let Some(&[0xff, marker]) = file.get(at..at + 2) {
        if marker == 0xff {
            at += 1; // a fill byte
            continue;
        }
        if matches!(marker, 0xd9 | 0xda) {
            break;
        }
        if matches!(marker, 0x01 | 0xd0..=0xd8) {
            at += 2; // these stand alone
            continue;
        }
        let Some(&[high, low]) = file.get(at + 2..at + 4) else {
            break;
        };
        let length = usize::from(u16::from_be_bytes([high, low]));
        let Some(payload) = file.get(at + 4..at + 2 + length) else {
            break;
        };
        match marker {
            0xdb => found.rounding = found.rounding.or_else(|| rounding(payload)),
            0xe0 if found.density.is_none() => found.density = density::of_jfif(payload),
            0xe1 if found.exif.is_none() => found.exif = payload.strip_prefix(b"Exif\0\0"),
            _ => {}
        }
        at += 2 + length;
    }
    found
}

/// Sum of the steps for luminance that the JPEG standard gives as an example (ITU-T T.81, table K.1), which
/// users call quality 50.
const EXAMPLE_STEPS: f64 = 3688.0;

/// Reads quantization tables (ITU-T T.81, B.2.4.1): the steps of table 0, which is luminance's by custom,
/// summed and over those of the example.
fn rounding(mut tables: &[u8]) -> Option<f64> {
    while let Some((kind, rest)) = tables.split_first() {
        let bytes = if kind >> 4 == 0 { 64 } else { 128 };
        let table = rest.get(..bytes)?;
        if kind & 0x0f == 0 {
            let sum: u32 = if bytes == 64 {
                table.iter().map(|step| u32::from(*step)).sum()
            } else {
                let steps = table.as_chunks::<2>().0.iter();
                steps.map(|step| u32::from(u16::from_be_bytes(*step))).sum()
            };
            return Some(f64::from(sum) / EXAMPLE_STEPS);
        }
        tables = &rest[bytes..];
    }
    None
}

/// Walks all chunks of a PNG (its EXIF block may stand behind the pixels).
pub(super) fn of_png(file: &[u8]) -> Segments<'_> {
    let mut found = Segments::default();
    let mut at = 8;
    while let Some(head) = file.get(at..at + 8) {
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]);
        let Some(end) = usize::try_from(length)
            .ok()
            .and_then(|length| (at + 8).checked_add(length))
        else {
            break;
        };
        let Some(payload) = file.get(at + 8..end) else {
            break;
        };
        match &head[4..] {
            b"pHYs" => found.density = density::of_phys(payload),
            b"eXIf" => found.exif = Some(payload),
            _ => {}
        }
        at = end.saturating_add(4);
    }
    found
}

/// Walks the chunks of a WebP.
pub(super) fn of_webp(file: &[u8]) -> Segments<'_> {
    let mut found = Segments::default();
    let mut at = 12;
    while let Some(head) = file.get(at..at + 8) {
        let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]);
        let Some(end) = usize::try_from(length)
            .ok()
            .and_then(|length| (at + 8).checked_add(length))
        else {
            break;
        };
        let Some(payload) = file.get(at + 8..end) else {
            break;
        };
        if head.starts_with(b"EXIF") {
            // Some programs put JPEG's own prefix before the block.
            found.exif = Some(payload.strip_prefix(b"Exif\0\0").unwrap_or(payload));
        }
        at = end.saturating_add(end % 2);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A JPEG's head with one table 1 and one table 0 of even steps.
    fn head(step: u8) -> Vec<u8> {
        let mut file = vec![0xff, 0xd8, 0xff, 0xdb, 0, 2 + 2 * 65];
        file.push(1);
        file.extend([99; 64]);
        file.push(0);
        file.extend([step; 64]);
        file.extend([0xff, 0xda]);
        file
    }

    #[test]
    fn rounding_is_told_by_the_table_of_luminance() {
        let rounding = of_jpeg(&head(58)).rounding.expect("a table");
        assert!((rounding - 64.0 * 58.0 / 3688.0).abs() < 1e-9, "{rounding}");
    }

    #[test]
    fn a_cut_off_table_says_nothing() {
        let mut file = head(58);
        file.truncate(100);
        assert_eq!(of_jpeg(&file).rounding, None);
        assert_eq!(rounding(&[0x10, 0, 1]), None);
    }
}
