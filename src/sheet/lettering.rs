//! The sheet's letters: two weights of one face, for the widths of words and for the PNG.

use ab_glyph::{Font, FontRef, Glyph, PxScale, point};

/// How heavy the letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Weight {
    /// For reading.
    Regular,
    /// For headings.
    Bold,
}

const REGULAR: &[u8] = include_bytes!("fonts/sheet-regular.ttf");
const BOLD: &[u8] = include_bytes!("fonts/sheet-bold.ttf");

fn font(weight: Weight) -> Option<FontRef<'static>> {
    FontRef::try_from_slice(match weight {
        Weight::Regular => REGULAR,
        Weight::Bold => BOLD,
    })
    .ok()
}

/// The length of a line of words in letters of that size, in the unit of the size.
pub(super) fn width(words: &str, size: f64, weight: Weight) -> f64 {
    let Some(font) = font(weight) else {
        return 0.0;
    };
    let per_em = f64::from(font.units_per_em().unwrap_or(1000.0));
    let units: f64 = words
        .chars()
        .map(|letter| f64::from(font.h_advance_unscaled(font.glyph_id(letter))))
        .sum();
    units / per_em * size
}

/// Draws a line of words that begins at `(x, baseline)`, px from the picture's top left **edge**:
/// `ink` is told each pixel's share of black.
pub(super) fn draw(
    words: &str,
    (x, baseline): (f64, f64),
    size_px: f64,
    weight: Weight,
    mut ink: impl FnMut(i64, i64, f64),
) {
    let Some(font) = font(weight) else {
        return;
    };
    let per_em = f64::from(font.units_per_em().unwrap_or(1000.0));
    // The face's scale is its height between ascent and descent, ours the em.
    let height = f64::from(font.height_unscaled()) / per_em * size_px;
    let mut at = x;
    for letter in words.chars() {
        let id = font.glyph_id(letter);
        let glyph = Glyph {
            id,
            scale: PxScale::from(single(height)),
            // Whole pixels apart from the drawing, so that no figure loses precision.
            position: point(single(at.fract()), single(baseline.fract())),
        };
        if let Some(outline) = font.outline_glyph(glyph) {
            let bounds = outline.px_bounds();
            let (left, top) = (
                whole(at.trunc()) + whole(f64::from(bounds.min.x)),
                whole(baseline.trunc()) + whole(f64::from(bounds.min.y)),
            );
            outline.draw(|dx, dy, share| {
                ink(left + i64::from(dx), top + i64::from(dy), f64::from(share));
            });
        }
        at += f64::from(font.h_advance_unscaled(id)) / per_em * size_px;
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "the font library takes single precision"
)]
fn single(value: f64) -> f32 {
    value as f32
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "whole pixels of a page, far below the range"
)]
fn whole(value: f64) -> i64 {
    value as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_have_the_width_of_their_letters() {
        // Helvetica's own widths, in thousandths of an em: e 556, v 500 (Core 14 metrics).
        let seen = width("ev", 1000.0, Weight::Regular);
        assert!((seen - 1056.0).abs() < 2.0, "{seen}");
        assert!(width("start", 3.0, Weight::Bold) > width("start", 3.0, Weight::Regular));
    }

    #[test]
    fn a_letter_stands_on_its_baseline() {
        let (mut top, mut bottom, mut total) = (i64::MAX, i64::MIN, 0.0);
        draw(
            "H",
            (10.25, 100.0),
            100.0,
            Weight::Regular,
            |x, y, share| {
                assert!((10..100).contains(&x));
                if share > 0.5 {
                    top = top.min(y);
                    bottom = bottom.max(y);
                }
                total += share;
            },
        );
        assert_eq!(bottom, 99);
        assert!((26..=34).contains(&top), "{top}");
        assert!(total > 500.0);
    }
}
