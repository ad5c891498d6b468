//! Whether the stated doubt of lengths holds: many drawn sets of edges, known to noise.

use super::fit::{self, Frame, K1, Pair};
use super::view::length_u;
use crate::geometry::Point;
use crate::markers::edges::Side;
use crate::markers::{Found, plane};
use crate::sheet::{Ground, Layout, Marker, Paper};
use crate::synth::Rng;
use nalgebra::Matrix3;

/// A camera 300 mm above the page, tilted, 4000 × 3000 px.
fn camera(rng: &mut Rng) -> (Matrix3<f64>, Frame, f64) {
    let frame = Frame::of(4000, 3000);
    let tilt = rng.between(0.0, 0.43);
    let turn =
        nalgebra::Rotation3::from_axis_angle(&nalgebra::Vector3::z_axis(), rng.between(-3.0, 3.0))
            * nalgebra::Rotation3::from_axis_angle(&nalgebra::Vector3::x_axis(), tilt);
    let r = turn.matrix();
    let middle = nalgebra::Vector3::new(148.5, 105.0, 0.0);
    let place = nalgebra::Vector3::new(0.0, 0.0, 320.0) - r * middle;
    let columns = [r.column(0).into(), r.column(1).into(), place];
    let (x, y) = (frame.centre.x, frame.centre.y);
    let lens = Matrix3::new(3000.0, 0.0, x, 0.0, 3000.0, y, 0.0, 0.0, 1.0);
    let k1 = rng.between(-0.06, 0.06);
    (lens * Matrix3::from_columns(&columns), frame, k1)
}

fn found(marker: &Marker, map: &Matrix3<f64>, (frame, k1): (Frame, f64), rng: &mut Rng) -> Found {
    let corners = marker.corners();
    let seen = |p: Point| {
        let ideal = plane::apply(map, p).expect("the page lies before the camera");
        frame.distort(ideal, k1)
    };
    let mut side = |i: usize| {
        let (a, b) = (corners[i], corners[(i + 1) % 4]);
        // What moves a whole side (paper, light, the grid of pixels), beside each place's noise.
        let all = (0.05 * rng.normal(), 0.05 * rng.normal());
        let places = (0..48).map(|k| {
            let t = 0.1 + 0.8 * f64::from(k) / 47.0;
            let p = seen(Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)));
            Point::new(
                p.x + all.0 + 0.15 * rng.normal(),
                p.y + all.1 + 0.15 * rng.normal(),
            )
        });
        Side {
            places: places.collect(),
        }
    };
    Found {
        marker: marker.id,
        corners: corners.map(seen),
        wrong_cells: 0,
        sides: [side(0), side(1), side(2), side(3)],
    }
}

#[test]
fn lengths_lie_within_their_stated_doubt() {
    let layout = Layout::new(Paper::A4, Ground::White);
    let (mut held, mut all) = (0_u32, 0_u32);
    let mut squares = 0.0;
    for trial in 0..150 {
        let mut rng = Rng::fork(trial, 7);
        let (map, frame, k1) = camera(&mut rng);
        let pairs: Vec<Pair> = layout
            .markers()
            .iter()
            .enumerate()
            // The corners are always seen, others as the band lies.
            .filter(|(i, _)| *i < 4 || trial % 3 > 0)
            .map(|(_, marker)| (*marker, found(marker, &map, (frame, k1), &mut rng)))
            .collect();
        let fitted = fit::fit(&pairs, frame).expect("they fit");
        let p = &fitted.fit.parameters;
        assert!((p[K1] - k1).abs() < 0.01, "{} instead of {k1}", p[K1]);
        let back = fitted.map(p).try_inverse().expect("a camera");
        let read = |place: Point| {
            let px = frame.distort(plane::apply(&map, place).expect("in view"), k1);
            plane::apply(&back, frame.straighten(px, p[K1])).expect("on the page")
        };
        let (a, b) = (Point::new(36.0, 102.0), Point::new(260.0, 102.0));
        let off = read(a).distance(read(b)) / a.distance(b) - 1.0;
        let u = length_u(&fitted, &layout);
        all += 1;
        held += u32::from(off.abs() <= 1.96 * u);
        squares += (off / u).powi(2);
    }
    let share = f64::from(held) / f64::from(all);
    assert!(share >= 0.92, "{held} of {all}");
    // Nor is the doubt blown up: it is that of the worst of six lengths.
    let ratio = (squares / f64::from(all)).sqrt();
    assert!((0.1..1.1).contains(&ratio), "{ratio}");
}
