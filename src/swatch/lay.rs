//! The rectangle of cloth, sampled along the weaving: rows run across it, like a straight band's.
//!
//! # Limits
//! A rectangle of more than [`MOST_SAMPLES`] pixels is read over its middle only: its whole length,
//! less of its width.

use super::SwatchRequest;
use crate::band::{
    BandTrace, CentreLine, Lean, Reading, StartEnd, StraightBand, Window, straighten,
};
use crate::geometry::Point;
use crate::photo::Photo;
use crate::raster::LinearPhoto;
use crate::scale::View;
use crate::{Error, Result};

/// Most samples of the laid picture: bounds memory and time.
const MOST_SAMPLES: f64 = 12e6;

/// Shortest side of a swatch, px.
const SHORTEST_PX: u32 = 24;

/// A laid swatch.
#[derive(Clone, Debug)]
pub struct Laid {
    /// The rectangle, px: left, top, width, height.
    pub rectangle_px: [u32; 4],
    /// The picture and its frame, as a stretch that runs out of the picture at both ends: its
    /// "selvedges" are the rectangle's sides.
    pub trace: BandTrace,
    /// Length of the rectangle along the weaving, mm.
    pub length_mm: f64,
}

/// Samples the swatch that `request` names along the direction of the weaving.
///
/// # Errors
///
/// [`Error::Request`] where the rectangle reaches beyond the photo or is narrower than 24 px;
/// [`Error::Unmeasurable`] where the view sees no plane there.
pub fn lay_swatch(
    photo: &Photo,
    view: &View,
    request: SwatchRequest,
    start: StartEnd,
) -> Result<Laid> {
    let size = (photo.pixels.width(), photo.pixels.height());
    let rectangle = request.within(size)?;
    if rectangle[2] < SHORTEST_PX || rectangle[3] < SHORTEST_PX {
        return Err(Error::Request {
            what: "--swatch".into(),
            why: format!(
                "a swatch of {} by {} pixels is too small to count picks on: give at least \
                 {SHORTEST_PX} both ways, better a few hundred",
                rectangle[2], rectangle[3]
            ),
        });
    }
    let sides = sides(rectangle, start);
    let plane = sides.map(|px| view.to_plane(px));
    let [Some(from), Some(to), Some(left), Some(right)] = plane else {
        return Err(Error::Unmeasurable {
            why: "the camera sees no plane in this rectangle: hold it level over the cloth".into(),
        });
    };
    let length_mm = from.distance(to);
    let along = Point::new((to.x - from.x) / length_mm, (to.y - from.y) / length_mm);
    let line = CentreLine {
        origin: from,
        along,
        curvature: 0.0,
    };
    let middle = Point::new(f64::midpoint(from.x, to.x), f64::midpoint(from.y, to.y));
    let step_mm = 1.0 / view.px_per_mm(middle);
    let most_wide =
        (MOST_SAMPLES * step_mm * step_mm / length_mm).max(SHORTEST_PX as f64 * step_mm);
    let half_mm = 0.5 * left.distance(right).min(most_wide);
    let inner = |length: f64| ((length / step_mm).floor() - 1.0).max(1.0) * step_mm;
    let (rows_mm, across_mm) = (inner(length_mm), inner(2.0 * half_mm));
    let first = 0.5 * (length_mm - rows_mm);
    let window = Window {
        s_mm: (first, first + rows_mm - 0.01 * step_mm),
        t_mm: (-0.5 * across_mm, 0.5 * across_mm - 0.01 * step_mm),
        step_mm,
    };
    let (straight, _) = straighten(
        &LinearPhoto::new(&photo.pixels),
        view,
        line,
        window,
        Reading::Sharp,
    );
    Ok(Laid {
        rectangle_px: rectangle,
        trace: frame(straight, (0.0, length_mm), half_mm),
        length_mm,
    })
}

/// Middles of the rectangle's sides in px: start, finish, the weaver's left, her right.
fn sides([x, y, width, height]: [u32; 4], start: StartEnd) -> [Point; 4] {
    let (x0, y0) = (f64::from(x) - 0.5, f64::from(y) - 0.5);
    let (x1, y1) = (x0 + f64::from(width), y0 + f64::from(height));
    let (xm, ym) = (f64::midpoint(x0, x1), f64::midpoint(y0, y1));
    let [left, right, top, bottom] = [
        Point::new(x0, ym),
        Point::new(x1, ym),
        Point::new(xm, y0),
        Point::new(xm, y1),
    ];
    match start {
        StartEnd::Left => [left, right, top, bottom],
        StartEnd::Right => [right, left, bottom, top],
        StartEnd::Top => [top, bottom, right, left],
        StartEnd::Bottom => [bottom, top, left, right],
    }
}

/// The picture as a stretch of cloth between these places along it, so far to each side of its middle line.
pub(super) fn frame(straight: StraightBand, cloth_mm: (f64, f64), half_mm: f64) -> BandTrace {
    let rows = straight.lab[0].nrows();
    BandTrace {
        lean: Lean::default(),
        straight,
        left_mm: vec![-half_mm; rows],
        right_mm: vec![half_mm; rows],
        edge_noise_mm: 0.0,
        edge_jitter_mm: 0.0,
        edge_bias_mm: 0.0,
        selvedges_unseen: None,
        cloth_mm,
        cloth_u_mm: (0.0, 0.0),
        runs_out: (true, true),
        light: None,
        warnings: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::ScaleMethod;
    use image::{Rgb, RgbImage};

    fn ramp() -> Photo {
        // Brighter from left to right, and a bright corner at the upper right.
        let pixels = RgbImage::from_fn(80, 60, |x, y| {
            let extra = if x > 60 && y < 15 { 60 } else { 0 };
            let v = u8::try_from(2 * x + extra).unwrap();
            Rgb([v, v, v])
        });
        Photo {
            file: "ramp.png".into(),
            sha256: String::new(),
            pixels,
            densities: Vec::new(),
            camera: None,
            jpeg_rounding: 0.0,
        }
    }

    #[test]
    fn rows_run_from_the_start_that_is_named_and_columns_to_the_weavers_right() {
        let view = View::level((10.0, 10.0), 0.001, ScaleMethod::Dpi);
        let lay = |start| lay_swatch(&ramp(), &view, SwatchRequest::Whole, start).unwrap();
        let corner = |laid: &Laid, row: bool, column: bool| {
            let l = &laid.trace.straight.lab[0];
            let (rows, columns) = l.dim();
            l[[
                if row { rows - 3 } else { 2 },
                if column { columns - 3 } else { 2 },
            ]]
        };
        // The bright upper right corner of the photo: last row, left column, and so on.
        for (start, bright) in [
            (StartEnd::Left, (true, false)),
            (StartEnd::Right, (false, true)),
            (StartEnd::Top, (false, false)),
            (StartEnd::Bottom, (true, true)),
        ] {
            let laid = lay(start);
            let at = |r, c| corner(&laid, r, c);
            let most = [(false, false), (false, true), (true, false), (true, true)]
                .into_iter()
                .max_by(|a, b| at(a.0, a.1).total_cmp(&at(b.0, b.1)))
                .unwrap();
            assert_eq!(most, bright, "{start:?}");
        }
        assert!((lay(StartEnd::Left).length_mm - 8.0).abs() < 1e-9);
        assert!((lay(StartEnd::Top).length_mm - 6.0).abs() < 1e-9);
    }

    #[test]
    fn a_sliver_is_refused() {
        let view = View::level((10.0, 10.0), 0.001, ScaleMethod::Dpi);
        let request = "0,0,80,10".parse().unwrap();
        let error = lay_swatch(&ramp(), &view, request, StartEnd::Left).unwrap_err();
        assert_eq!(error.exit_code(), 2);
        assert!(error.to_string().contains("too small"), "{error}");
    }
}
