//! The camera that sees a card so.

use nalgebra::{DVector, Matrix3, Rotation3, Vector3};

use super::search::{Candidate, candidates};
use crate::geometry::Point;
use crate::markers::{edges, plane};
use crate::measurement::ScaleMethod;
use crate::photo::Photo;
use crate::scale::least_squares::{self, Fit, uncertainty};
use crate::scale::sheet::{Frame, focal_prior};
use crate::scale::{View, resolution};
use crate::{Error, Result};

/// Width, height and thickness of an ID-1 card, mm (ISO/IEC 7810).
const CARD_MM: (f64, f64) = (85.60, 53.98);
const THICKNESS_MM: f64 = 0.76;

/// Standard uncertainty of a card's size, relative: ISO/IEC 7810 allows 0.12 mm in 85.6.
const CARD_RELATIVE_U: f64 = 0.0007;

/// Standard deviation of the lens term, which one card doesn't show.
const K1_SD: f64 = 0.015;

/// Least scatter of a corner that is believed, px: a card's edge is rounded.
const LEAST_SIGMA_PX: f64 = 0.3;

/// Largest misfit of a card, as a share of its long side: other things of about that shape
/// (a page of a notebook, a phone) lie beyond.
const MOST_MISFIT: f64 = 0.01;

/// Parameters: logarithm of the focal length in radii, lens term, turn (3), place (3).
const FOCAL: usize = 0;
const K1: usize = 1;
const TURN: usize = 2;
const PLACE: usize = 5;

/// Millimetres that stand for one in the fit.
const UNIT_MM: f64 = 100.0;

struct Camera {
    turn: Rotation3<f64>,
    place: Vector3<f64>,
    focal: f64,
}

impl Camera {
    fn of(p: &DVector<f64>) -> Self {
        Self {
            turn: Rotation3::new(Vector3::new(p[TURN], p[TURN + 1], p[TURN + 2])),
            place: Vector3::new(p[PLACE], p[PLACE + 1], p[PLACE + 2]),
            focal: p[FOCAL].exp(),
        }
    }

    /// Plane (mm) → ideal pixel, for the plane that lies `below` the card's top, mm.
    fn map(&self, frame: Frame, below: f64) -> Matrix3<f64> {
        let r = self.turn.matrix();
        let place = self.place + r.column(2) * (below / UNIT_MM);
        let columns = [r.column(0) / UNIT_MM, r.column(1) / UNIT_MM, place];
        let f = self.focal * frame.radius_px;
        let lens = Matrix3::new(
            f,
            0.0,
            frame.centre.x,
            0.0,
            f,
            frame.centre.y,
            0.0,
            0.0,
            1.0,
        );
        lens * Matrix3::from_columns(&columns)
    }

    /// Height above the plane that the card lies on, mm.
    fn height_mm(&self) -> f64 {
        self.turn.matrix().column(2).dot(&self.place) * UNIT_MM + THICKNESS_MM
    }
}

/// The view of a photo with a card in it.
pub(in crate::scale) fn view(photo: &Photo) -> Result<View> {
    let (width, height) = photo.pixels.dimensions();
    let frame = Frame::of(width, height);
    let longer_px = f64::from(width.max(height));
    let prior = focal_prior(photo.camera.as_ref(), frame, longer_px);
    let prior = (prior.0 - frame.radius_px.ln(), prior.1);
    let best = candidates(&photo.pixels)
        .into_iter()
        .filter_map(|candidate| {
            let fit = fit(&candidate, frame, prior)?;
            let side = candidate.corners[0].distance(candidate.corners[1]);
            let misfit = fit.residuals.norm() * frame.radius_px / side;
            (misfit < MOST_MISFIT).then_some((side, fit))
        })
        // A card's own print may hold smaller frames of the same shape: the largest is the card.
        .max_by(|a, b| a.0.total_cmp(&b.0));
    match best {
        Some((_, fit)) => Ok(assemble(photo, &fit, frame)),
        None => Err(Error::Scale {
            why:
                "no card is seen: lay a card of 85.6 × 54 mm (ISO/IEC 7810 ID-1, the size of most \
                  plastic cards) flat beside the band, all of it in view, on a ground that is \
                  darker or lighter than it, with nothing over its edges"
                    .to_owned(),
        }),
    }
}

fn on_card() -> [Point; 4] {
    let (w, h) = (0.5 * CARD_MM.0, 0.5 * CARD_MM.1);
    [(-w, -h), (w, -h), (w, h), (-w, h)].map(|(x, y)| Point::new(x, y))
}

fn fit(candidate: &Candidate, frame: Frame, prior: (f64, f64)) -> Option<Fit> {
    let start = start(candidate, frame, prior.0)?;
    let data = |p: &DVector<f64>| {
        let map = Camera::of(p).map(frame, 0.0);
        let seen = edges::corners_of(&candidate.sides, |place| frame.straighten(place, p[K1]))
            .unwrap_or(candidate.corners);
        let offsets = on_card().into_iter().zip(seen).flat_map(|(corner, seen)| {
            let at = plane::apply(&map, corner).unwrap_or(Point::new(f64::MAX, f64::MAX));
            [
                (at.x - seen.x) / frame.radius_px,
                (at.y - seen.y) / frame.radius_px,
            ]
        });
        DVector::from_iterator(8, offsets)
    };
    let priors = [(FOCAL, prior.0, prior.1), (K1, 0.0, K1_SD)];
    least_squares::fit(start, &data, &priors, LEAST_SIGMA_PX / frame.radius_px)
}

/// The camera of the expected focal length that comes nearest to the four corners' own map.
fn start(candidate: &Candidate, frame: Frame, log_focal: f64) -> Option<DVector<f64>> {
    let map = plane::of_four(&on_card(), &candidate.corners)?;
    let f = log_focal.exp() * frame.radius_px;
    let behind = |column: usize| {
        let v = map.column(column);
        Vector3::new(
            (v[0] - frame.centre.x * v[2]) / f,
            (v[1] - frame.centre.y * v[2]) / f,
            v[2],
        )
    };
    let (a, b, t) = (behind(0), behind(1), behind(2));
    let size = (a.norm() * b.norm()).sqrt();
    let x = a.normalize();
    let y = (b - x * x.dot(&b)).normalize();
    let turn = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[x, y, x.cross(&y)]));
    let axis = turn.scaled_axis();
    let place = t / (size * UNIT_MM);
    let values = [
        log_focal, 0.0, axis.x, axis.y, axis.z, place.x, place.y, place.z,
    ];
    values
        .iter()
        .all(|v| v.is_finite())
        .then(|| DVector::from_vec(values.to_vec()))
}

fn assemble(photo: &Photo, fit: &Fit, frame: Frame) -> View {
    let p = &fit.parameters;
    let camera = Camera::of(p);
    let map = camera.map(frame, THICKNESS_MM);
    let mut view = View::level((1.0, 1.0), 0.0, ScaleMethod::Card);
    view.plane_to_px = map * turned_upright(&map);
    view.lens_k1 = p[K1];
    view.lens_centre = frame.centre;
    view.lens_radius_px = frame.radius_px;
    view.relative_u = length_u(fit, frame).hypot(CARD_RELATIVE_U);
    view.tilt = camera.turn.matrix()[(2, 2)].abs().min(1.0).acos();
    let height = camera.height_mm();
    let height_u = uncertainty(fit, &|p| Some(Camera::of(p).height_mm()));
    if let (false, Some(u)) = (resolution::is_scan(photo), height_u) {
        view.camera_height_mm = Some((height, u));
        view.notes.push(format!(
            "camera {height:.0} ± {:.0} mm above the band, tilted by {:.0}°",
            1.96 * u,
            view.tilt.to_degrees()
        ));
    }
    let middle = on_card().map(|corner| plane::apply(&map, corner).unwrap_or_default());
    view.notes.push(format!(
        "card found around {:.0},{:.0} px, {:.0} px long",
        0.25 * middle.iter().map(|c| c.x).sum::<f64>(),
        0.25 * middle.iter().map(|c| c.y).sum::<f64>(),
        middle[0].distance(middle[1])
    ));
    view
}

/// The turn of the plane that makes its x and y point as the photo's do at the card.
fn turned_upright(map: &Matrix3<f64>) -> Matrix3<f64> {
    let at = |x: f64, y: f64| plane::apply(map, Point::new(x, y)).unwrap_or_default();
    let (o, x, y) = (at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0));
    let angle = ((x.y - o.y) - (y.x - o.x)).atan2((x.x - o.x) + (y.y - o.y));
    let (sin, cos) = angle.sin_cos();
    Matrix3::new(cos, sin, 0.0, -sin, cos, 0.0, 0.0, 0.0, 1.0)
}

/// Relative standard uncertainty of lengths that cross most of the photo, the larger of the two
/// directions.
fn length_u(fit: &Fit, frame: Frame) -> f64 {
    let reach = 0.5 * frame.radius_px;
    let spans = [(reach, 0.0), (0.0, 0.7 * reach)];
    let of_span = |&(dx, dy): &(f64, f64)| {
        let ends = [-1.0, 1.0]
            .map(|side| Point::new(frame.centre.x + side * dx, frame.centre.y + side * dy));
        let length = |p: &DVector<f64>| {
            let back = Camera::of(p).map(frame, THICKNESS_MM).try_inverse()?;
            let seen = |px| plane::apply(&back, frame.straighten(px, p[K1]));
            Some(seen(ends[0])?.distance(seen(ends[1])?))
        };
        Some(uncertainty(fit, &length)? / length(&fit.parameters)?)
    };
    spans.iter().filter_map(of_span).fold(0.0, f64::max)
}
