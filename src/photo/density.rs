//! The resolution that a file carries.

/// A resolution that the file carries, after the orientation is applied.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Density {
    /// Pixels per inch along x.
    pub x_dpi: f64,
    /// Pixels per inch along y.
    pub y_dpi: f64,
    /// Which field it was read from.
    pub source: DensitySource,
}

/// Where in the file a resolution stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DensitySource {
    /// The JFIF header of a JPEG.
    Jfif,
    /// The EXIF tags.
    Exif,
    /// The tags of a TIFF.
    Tiff,
    /// The pHYs chunk of a PNG.
    Phys,
}

impl DensitySource {
    /// The field's name in words, such as "JFIF header".
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Jfif => "JFIF header",
            Self::Exif => "EXIF tags",
            Self::Tiff => "TIFF tags",
            Self::Phys => "PNG pHYs chunk",
        }
    }
}

/// Centimetres in an inch.
pub(crate) const CM_PER_INCH: f64 = 2.54;

impl Density {
    /// A density from the two figures of a file and how many inches their unit has;
    /// `None` unless both are finite and above zero.
    pub(super) fn from_file(
        x: f64,
        y: f64,
        units_per_inch: f64,
        source: DensitySource,
    ) -> Option<Self> {
        let (x_dpi, y_dpi) = (x * units_per_inch, y * units_per_inch);
        let right = |v: f64| v.is_finite() && v > 0.0;
        (right(x_dpi) && right(y_dpi)).then_some(Self {
            x_dpi,
            y_dpi,
            source,
        })
    }

    /// The density of the picture turned by a quarter.
    pub(super) const fn swapped(self) -> Self {
        Self {
            x_dpi: self.y_dpi,
            y_dpi: self.x_dpi,
            source: self.source,
        }
    }
}

/// The density of a JFIF APP0 payload (from `JFIF\0` on): a version of two bytes, the unit
/// (1 inch, 2 centimetre, 0 a mere ratio), then x and y as 16-bit numbers.
pub(super) fn of_jfif(app0: &[u8]) -> Option<Density> {
    let body = app0.strip_prefix(b"JFIF\0")?;
    let units_per_inch = match body.get(2)? {
        1 => 1.0,
        2 => CM_PER_INCH,
        _ => return None,
    };
    let number = |at: usize| {
        let pair = body.get(at..at + 2)?;
        Some(f64::from(u16::from_be_bytes([pair[0], pair[1]])))
    };
    Density::from_file(number(3)?, number(5)?, units_per_inch, DensitySource::Jfif)
}

/// The density of a PNG `pHYs` chunk: x and y as 32-bit numbers, then the unit (1 metre, 0 a
/// mere ratio).
pub(super) fn of_phys(chunk: &[u8]) -> Option<Density> {
    let number = |at: usize| {
        let four = chunk.get(at..at + 4)?;
        Some(f64::from(u32::from_be_bytes([
            four[0], four[1], four[2], four[3],
        ])))
    };
    if *chunk.get(8)? != 1 {
        return None;
    }
    let per_metre = CM_PER_INCH / 100.0;
    Density::from_file(number(0)?, number(4)?, per_metre, DensitySource::Phys)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn jfif_inches_centimetres_and_ratios() {
        let app0 = |unit: u8| [b"JFIF\0\x01\x02".as_slice(), &[unit, 1, 44, 2, 88, 0, 0]].concat();
        let inches = of_jfif(&app0(1)).expect("inches are a density");
        assert_eq!((inches.x_dpi, inches.y_dpi), (300.0, 600.0));
        let cm = of_jfif(&app0(2)).expect("centimetres are a density");
        assert_eq!((cm.x_dpi, cm.y_dpi), (762.0, 1524.0));
        assert_eq!(of_jfif(&app0(0)), None);
        assert_eq!(of_jfif(b"JFIF\0\x01"), None);
    }

    #[test]
    fn phys_counts_only_in_metres() {
        let chunk = |unit: u8| [0, 0, 0x2e, 0x23, 0, 0, 0x2e, 0x23, unit];
        let metre = of_phys(&chunk(1)).expect("metres are a density");
        assert!((metre.x_dpi - 300.0).abs() < 0.01, "{metre:?}");
        assert_eq!(of_phys(&chunk(0)), None);
        assert_eq!(of_phys(&[0; 8]), None);
    }
}
