//! Digits as strokes, so that a number can be drawn at any size.

/// Corners of one stroke, joined by straight lines.
type Stroke = &'static [(f64, f64)];

/// Strokes of each digit in a box 0.6 wide and 1 high (x right, y down).
const STROKES: [&[Stroke]; 10] = [
    &[&[
        (0.3, 0.0),
        (0.5, 0.08),
        (0.6, 0.3),
        (0.6, 0.7),
        (0.5, 0.92),
        (0.3, 1.0),
        (0.1, 0.92),
        (0.0, 0.7),
        (0.0, 0.3),
        (0.1, 0.08),
        (0.3, 0.0),
    ]],
    &[&[(0.08, 0.2), (0.34, 0.0), (0.34, 1.0)]],
    &[&[
        (0.02, 0.24),
        (0.1, 0.07),
        (0.3, 0.0),
        (0.5, 0.07),
        (0.58, 0.25),
        (0.5, 0.46),
        (0.0, 1.0),
        (0.6, 1.0),
    ]],
    &[&[
        (0.03, 0.1),
        (0.28, 0.0),
        (0.5, 0.07),
        (0.56, 0.25),
        (0.47, 0.42),
        (0.24, 0.47),
        (0.5, 0.54),
        (0.6, 0.74),
        (0.5, 0.93),
        (0.27, 1.0),
        (0.0, 0.9),
    ]],
    &[&[(0.46, 1.0), (0.46, 0.0), (0.0, 0.7), (0.6, 0.7)]],
    &[&[
        (0.54, 0.0),
        (0.1, 0.0),
        (0.05, 0.44),
        (0.28, 0.37),
        (0.5, 0.45),
        (0.6, 0.68),
        (0.5, 0.91),
        (0.27, 1.0),
        (0.0, 0.91),
    ]],
    &[&[
        (0.5, 0.03),
        (0.24, 0.12),
        (0.05, 0.4),
        (0.0, 0.7),
        (0.1, 0.92),
        (0.3, 1.0),
        (0.5, 0.92),
        (0.6, 0.69),
        (0.5, 0.47),
        (0.3, 0.4),
        (0.1, 0.48),
        (0.0, 0.68),
    ]],
    &[&[(0.0, 0.0), (0.6, 0.0), (0.2, 1.0)]],
    &[
        &[
            (0.3, 0.0),
            (0.5, 0.07),
            (0.56, 0.24),
            (0.48, 0.41),
            (0.3, 0.47),
            (0.12, 0.41),
            (0.04, 0.24),
            (0.1, 0.07),
            (0.3, 0.0),
        ],
        &[
            (0.3, 0.47),
            (0.52, 0.56),
            (0.6, 0.75),
            (0.5, 0.93),
            (0.3, 1.0),
            (0.1, 0.93),
            (0.0, 0.75),
            (0.08, 0.56),
            (0.3, 0.47),
        ],
    ],
    &[&[
        (0.1, 0.97),
        (0.36, 0.88),
        (0.55, 0.6),
        (0.6, 0.3),
        (0.5, 0.08),
        (0.3, 0.0),
        (0.1, 0.08),
        (0.0, 0.31),
        (0.1, 0.53),
        (0.3, 0.6),
        (0.5, 0.52),
        (0.6, 0.32),
    ]],
];

/// Strokes of a digit; anything that is no digit has none.
pub(super) fn strokes(digit: char) -> &'static [Stroke] {
    let place = digit
        .to_digit(10)
        .and_then(|digit| usize::try_from(digit).ok());
    place
        .and_then(|place| STROKES.get(place).copied())
        .unwrap_or(&[])
}

/// How far the next digit stands from the one before, in digit heights.
pub(super) const ADVANCE: f64 = 0.86;

/// How wide a number is, in digit heights.
pub(super) fn width(number: &str) -> f64 {
    let digits = number.chars().count();
    #[allow(clippy::cast_precision_loss, reason = "a handful of digits")]
    let gaps = digits.saturating_sub(1) as f64;
    gaps * ADVANCE + 0.6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_digit_has_strokes_inside_its_box() {
        for digit in '0'..='9' {
            let corners: Vec<_> = strokes(digit).iter().copied().flatten().collect();
            assert!(corners.len() > 2, "{digit}");
            assert!(
                corners
                    .iter()
                    .all(|(x, y)| (0.0..=0.6).contains(x) && (0.0..=1.0).contains(y))
            );
        }
    }
}
