//! From the markers in a photo to its view.

use crate::geometry::Point;
use crate::markers;
use crate::measurement::{ScaleMethod, Warning};
use crate::photo::Photo;
use crate::scale::least_squares::uncertainty;
use crate::scale::{PrintedMark, ScaleOptions, TypedLength, View, resolution};
use crate::sheet::{CHECK_BAR_MM, Layout, Marker};
use crate::{Error, Result};

use super::camera::{focal_prior, pose};
use super::fit::{self, FEWEST, Frame, K1, Pair, PlaneFit};
use super::{notes, region};

/// How much of the window's length and of the page's height the markers must span, so that no
/// length is read far outside them.
const SPAN_ALONG: f64 = 0.6;
const SPAN_ACROSS_MM: f64 = 60.0;

/// Markers from which a finer look isn't needed.
const PLENTY: usize = 10;

/// The markers of one sheet, as they were found in a photo.
#[derive(Clone, Debug)]
pub(in crate::scale) struct Sheet {
    pub(super) layout: Layout,
    pairs: Vec<Pair>,
}

/// Looks for a sheet; `None` where no marker of one is seen.
pub(in crate::scale) fn look(photo: &Photo) -> Option<Sheet> {
    let found = markers::find(&photo.pixels, PLENTY);
    // Each paper has its own markers: the paper that more of them are of is the sheet.
    let layouts = found
        .iter()
        .filter_map(|f| Layout::with_marker(f.marker))
        .collect::<Vec<_>>();
    let most = layouts
        .iter()
        .max_by_key(|a| layouts.iter().filter(|b| a == b).count())?;
    let all = most.markers();
    let pairs = found
        .into_iter()
        .filter_map(|f| Some((all.iter().find(|m| m.id == f.marker).copied()?, f)))
        .collect();
    Some(Sheet {
        layout: *most,
        pairs,
    })
}

impl Sheet {
    /// Why these markers don't give a scale; `None` where they do.
    pub(in crate::scale) fn too_few(&self) -> Option<String> {
        let xs = self.pairs.iter().map(|(m, _)| m.centre.x);
        let ys = self.pairs.iter().map(|(m, _)| m.centre.y);
        let span = |low: f64, high: f64| high - low;
        let along = span(
            xs.clone().fold(f64::INFINITY, f64::min),
            xs.fold(f64::NEG_INFINITY, f64::max),
        );
        let across = span(
            ys.clone().fold(f64::INFINITY, f64::min),
            ys.fold(f64::NEG_INFINITY, f64::max),
        );
        let enough = self.pairs.len() >= FEWEST;
        let spread = along >= SPAN_ALONG * self.layout.window().width && across >= SPAN_ACROSS_MM;
        if enough && spread {
            return None;
        }
        let seen: Vec<&str> = self.pairs.iter().map(|(m, _)| m.place).collect();
        let missing: Vec<&str> = self.missing().map(|m| m.place).collect();
        let what = if enough {
            "the markers of the sheet that are seen lie too close together".to_owned()
        } else {
            format!(
                "{} of the sheet's {} markers are seen, and {FEWEST} spread over it are needed",
                seen.len(),
                self.layout.markers().len()
            )
        };
        Some(format!(
            "{what} (seen: {}; missing: {}): photograph the whole sheet, sharp and evenly lit, \
             with the band covering as few of them as can be",
            seen.join("; "),
            missing.join("; ")
        ))
    }

    fn missing(&self) -> impl Iterator<Item = Marker> + '_ {
        self.layout
            .markers()
            .into_iter()
            .filter(|m| self.pairs.iter().all(|(seen, _)| seen.id != m.id))
    }
}

/// The view of a photo of the sheet.
pub(in crate::scale) fn view(photo: &Photo, sheet: &Sheet, options: &ScaleOptions) -> Result<View> {
    let (width, height) = photo.pixels.dimensions();
    let frame = Frame::of(width, height);
    let refuse = |why: String| Error::Scale { why };
    if let Some(why) = sheet.too_few() {
        return Err(refuse(why));
    }
    let fitted = fit::fit(&sheet.pairs, frame).ok_or_else(|| {
        refuse(
            "the sheet's markers don't fit together: lay the sheet flat and photograph it whole"
                .to_owned(),
        )
    })?;
    if fitted.rms_px() > options.most_misfit_px {
        return Err(refuse(format!(
            "the sheet's markers lie {:.1} px from where a flat sheet would have them: lay it \
             flat, hold the camera still, and give the photo as it came from the camera",
            fitted.rms_px()
        )));
    }
    Ok(assemble(photo, sheet, &fitted, options))
}

fn assemble(photo: &Photo, sheet: &Sheet, fitted: &PlaneFit, options: &ScaleOptions) -> View {
    let parameters = &fitted.fit.parameters;
    // The paper's millimetres are the drawn ones times what the printer made of them.
    let (print, print_u) = printed(options.print_bar, options);
    let scaled =
        nalgebra::Matrix3::from_diagonal(&nalgebra::Vector3::new(1.0 / print, 1.0 / print, 1.0));
    let mut view = View::level((1.0, 1.0), 0.0, ScaleMethod::Sheet);
    view.plane_to_px = fitted.map(parameters) * scaled;
    view.lens_k1 = parameters[K1];
    view.lens_centre = fitted.frame.centre;
    view.lens_radius_px = fitted.frame.radius_px;
    view.relative_u = length_u(fitted, &sheet.layout)
        .hypot(options.paper_relative_u)
        .hypot(print_u);
    view.start_direction = Some(sheet.layout.start_direction());
    let seen: Vec<Marker> = sheet.pairs.iter().map(|(m, _)| *m).collect();
    let room = region::of(&photo.pixels, &view, &sheet.layout, &seen, print);
    let real = |x: f64, y: f64| Point::new(x * print, y * print);
    view.region_mm = Some((
        real(room.x, room.y),
        real(room.x + room.width, room.y + room.height),
    ));
    let (page, _) = sheet.layout.paper.size_mm();
    let window = sheet.layout.window();
    view.ground_changes_mm = [0.0, window.x, window.x + window.width, page]
        .map(|x| x * print)
        .to_vec();
    let mark = |marker: &Marker| {
        let [low, _, high, _] = marker.corners();
        PrintedMark {
            low_mm: real(low.x, low.y),
            high_mm: real(high.x, high.y),
            bare: seen.iter().any(|s| s.id == marker.id),
        }
    };
    view.printed = sheet.layout.markers().iter().map(mark).collect();
    let (width, height) = photo.pixels.dimensions();
    let longer_px = f64::from(width.max(height));
    let prior = focal_prior(photo.camera.as_ref(), fitted.frame, longer_px);
    if let Some(pose) = pose(fitted, prior, longer_px) {
        view.tilt = pose.tilt;
        // A flatbed looks straight down everywhere: no height, nothing to correct.
        if !resolution::is_scan(photo) {
            let (h, u) = pose.height_mm;
            view.camera_height_mm = Some((h * print, u * print));
        }
    }
    if options.print_bar.is_none() {
        view.warnings.push(Warning {
            code: "print_bar".to_owned(),
            text: format!(
                "printers scale, and how much isn't known here: the figures carry a doubt of \
                 {:.1} % for it; measure the sheet's check bar with a ruler and give \
                 --print-bar, such as --print-bar 99.6mm",
                196.0 * options.printer_relative_u
            ),
        });
    }
    notes::tell(&mut view, photo, sheet, fitted);
    view
}

/// How many real millimetres a drawn one is, and its relative standard uncertainty.
fn printed(bar: Option<TypedLength>, options: &ScaleOptions) -> (f64, f64) {
    bar.map_or((1.0, options.printer_relative_u), |bar| {
        (bar.mm / CHECK_BAR_MM, bar.u_mm / bar.mm)
    })
}

/// Relative standard uncertainty of lengths in the window: the largest of some typical ones.
pub(super) fn length_u(fitted: &PlaneFit, layout: &Layout) -> f64 {
    let window = layout.window();
    let at = |across: f64, down: f64| {
        Point::new(
            window.x + across * window.width,
            window.y + down * window.height,
        )
    };
    let spans = [
        (at(0.05, 0.5), at(0.95, 0.5)),
        (at(0.05, 0.5), at(0.5, 0.5)),
        (at(0.5, 0.5), at(0.95, 0.5)),
        (at(0.2, 0.2), at(0.2, 0.8)),
        (at(0.5, 0.2), at(0.5, 0.8)),
        (at(0.8, 0.2), at(0.8, 0.8)),
    ];
    let of_span = |(a, b): &(Point, Point)| {
        // The two places stay where they appear in the photo; their distance on the plane moves.
        let through = |p: &nalgebra::DVector<f64>| {
            let map = fitted.map(p);
            let seen = |place| {
                let now = fitted.map(&fitted.fit.parameters);
                let ideal = markers::plane::apply(&now, place)?;
                let px = fitted.frame.distort(ideal, fitted.fit.parameters[K1]);
                markers::plane::apply(&map.try_inverse()?, fitted.frame.straighten(px, p[K1]))
            };
            Some(seen(*a)?.distance(seen(*b)?))
        };
        uncertainty(&fitted.fit, &through).map(|u| u / a.distance(*b))
    };
    spans.iter().filter_map(of_span).fold(0.0, f64::max)
}
