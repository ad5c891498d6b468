//! What is drawn on the sheet, in the order of drawing: one list that every file format follows.

use super::layout::{Ground, Layout, Rect};
use super::lettering::{Weight, width};
use crate::geometry::Point;
use crate::markers::family::{CELLS, is_black};

/// How dark a shape is, 0 paper … 1 black.
pub(super) const BLACK: f64 = 1.0;

/// The grey ground: light enough to be no shadow, dark enough to part white yarn from it.
const GROUND_GREY: f64 = 0.45;

/// One thing to draw.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    /// Rectangles that don't overlap, drawn as one, so that no seam shows where they touch.
    Rects { rects: Vec<Rect>, tone: f64 },
    /// A filled polygon, black.
    Polygon(Vec<Point>),
    /// A line of words, black.
    Words(Words),
}

/// A line of words.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Words {
    pub(super) words: String,
    /// Left end of the line, mm.
    pub(super) x: f64,
    /// Where the letters stand, mm.
    pub(super) baseline: f64,
    /// Size of the letters (the em), mm.
    pub(super) size: f64,
    pub(super) weight: Weight,
}

/// Words on the sheet, mm.
const SMALL: f64 = 3.0;
const READING: f64 = 3.5;
const NAME: f64 = 8.5;

/// Everything on the sheet.
pub(super) fn shapes(layout: &Layout) -> Vec<Shape> {
    let mut shapes = Vec::new();
    if layout.ground == Ground::Grey {
        shapes.push(Shape::Rects {
            rects: vec![layout.window()],
            tone: GROUND_GREY,
        });
    }
    markers(layout, &mut shapes);
    window_corners(layout, &mut shapes);
    start_mark(layout, &mut shapes);
    how_to(layout, &mut shapes);
    check_bar(layout, &mut shapes);
    shapes
}

fn black(rects: Vec<Rect>) -> Shape {
    Shape::Rects { rects, tone: BLACK }
}

fn words(text: &str, x: f64, baseline: f64, size: f64, weight: Weight) -> Shape {
    Shape::Words(Words {
        words: text.to_owned(),
        x,
        baseline,
        size,
        weight,
    })
}

fn centred(text: &str, middle: f64, baseline: f64, size: f64, weight: Weight) -> Shape {
    let x = middle - 0.5 * width(text, size, weight);
    words(text, x, baseline, size, weight)
}

fn ended(text: &str, right: f64, baseline: f64, size: f64, weight: Weight) -> Shape {
    let x = right - width(text, size, weight);
    words(text, x, baseline, size, weight)
}

/// Each marker as runs of black cells.
fn markers(layout: &Layout, shapes: &mut Vec<Shape>) {
    for marker in layout.markers() {
        let corner = marker.corners()[0];
        #[expect(clippy::cast_precision_loss, reason = "eight cells")]
        let cell = |i: usize| marker.side_mm * i as f64 / CELLS as f64;
        let mut rects = Vec::new();
        for row in 0..CELLS {
            let mut column = 0;
            while column < CELLS {
                let end = (column..CELLS)
                    .find(|&c| !is_black(marker.id, c, row))
                    .unwrap_or(CELLS);
                if end > column {
                    rects.push(Rect::new(
                        corner.x + cell(column),
                        corner.y + cell(row),
                        cell(end) - cell(column),
                        cell(1),
                    ));
                }
                column = end + 1;
            }
        }
        shapes.push(black(rects));
    }
}

/// A hooked line at each corner of the window, outside it: the band's ground stays clear.
fn window_corners(layout: &Layout, shapes: &mut Vec<Shape>) {
    const ARM: f64 = 7.0;
    const LINE: f64 = 0.35;
    const OFF: f64 = 1.2;
    let window = layout.window();
    let (left, right) = (window.x, window.x + window.width);
    for (y, out) in [(window.y, -1.0), (window.y + window.height, 1.0)] {
        let line = if out < 0.0 { y - OFF - LINE } else { y + OFF };
        shapes.push(black(vec![
            Rect::new(left, line, ARM, LINE),
            Rect::new(right - ARM, line, ARM, LINE),
        ]));
    }
}

/// The start mark at the left, and the finish at the right.
fn start_mark(layout: &Layout, shapes: &mut Vec<Shape>) {
    let window = layout.window();
    let (page, _) = layout.paper.size_mm();
    let side = layout.markers()[10].centre.x;
    let middle = window.centre().y;
    let arrow = |x: f64, dy: f64| Point::new(x, middle - 2.5 + dy);
    shapes.push(Shape::Polygon(vec![
        arrow(side - 6.5, -2.0),
        arrow(side + 0.5, -2.0),
        arrow(side + 0.5, -5.0),
        arrow(side + 7.0, 0.0),
        arrow(side + 0.5, 5.0),
        arrow(side + 0.5, 2.0),
        arrow(side - 6.5, 2.0),
    ]));
    shapes.push(centred("START", side, middle + 7.5, 4.2, Weight::Bold));
    let other = page - side;
    shapes.push(black(vec![Rect::new(other - 6.5, middle - 4.5, 1.6, 4.0)]));
    shapes.push(black(vec![Rect::new(other - 3.5, middle - 4.5, 10.0, 4.0)]));
    shapes.push(centred("FINISH", other, middle + 7.5, 3.6, Weight::Regular));
}

/// The name and three lines on how to.
fn how_to(layout: &Layout, shapes: &mut Vec<Shape>) {
    const LINES: [(&str, &str); 3] = [
        (
            "1",
            "Print at 100 % (\"actual size\") on plain paper, and lay the sheet on something flat.",
        ),
        (
            "2",
            "Lay the band flat in the window, its start at the left. Fringe, and the ends of a \
             long band, may cover the small markers or lie beyond the page.",
        ),
        (
            "3",
            "Photograph it from straight above, the whole sheet in view, in even light without a \
             flash.",
        ),
    ];
    let (page, _) = layout.paper.size_mm();
    let (left, right) = (38.0, page - 38.0);
    shapes.push(words("evenfell", left, 17.0, NAME, Weight::Bold));
    let aside = left + width("evenfell", NAME, Weight::Bold) + 3.0;
    let what = "backing sheet for a photo of a hand-woven band";
    shapes.push(words(what, aside, 17.0, READING, Weight::Regular));
    shapes.push(black(vec![Rect::new(left, 20.5, right - left, 0.35)]));
    let size = fitting(&LINES.map(|line| line.1), right - left - 5.0);
    for (i, (number, line)) in (0_u32..).zip(LINES) {
        let baseline = 26.5 + 5.0 * f64::from(i);
        shapes.push(words(number, left, baseline, size, Weight::Bold));
        shapes.push(words(line, left + 5.0, baseline, size, Weight::Regular));
    }
}

/// The largest size up to that for reading at which every line has room.
fn fitting(lines: &[&str], room: f64) -> f64 {
    lines
        .iter()
        .map(|line| room / width(line, 1.0, Weight::Regular))
        .fold(READING, f64::min)
}

/// The bar for the ruler, its ends cut exactly, with a word on what it is for.
fn check_bar(layout: &Layout, shapes: &mut Vec<Shape>) {
    let bar = layout.check_bar();
    let (page, _) = layout.paper.size_mm();
    let tenth = bar.width / 10.0;
    let mut rects = Vec::new();
    for i in 0..10_u32 {
        let x = bar.x + tenth * f64::from(i);
        let upper = i % 2 == 0;
        let y = if upper {
            bar.y
        } else {
            bar.y + 0.5 * bar.height
        };
        rects.push(Rect::new(x, y, tenth, 0.5 * bar.height));
    }
    shapes.push(black(rects));
    // The two ends stand over the whole height and end where the bar ends.
    shapes.push(black(vec![
        Rect::new(bar.x, bar.y - 1.5, 0.3, 1.5),
        Rect::new(bar.x, bar.y + 0.5 * bar.height, 0.3, 0.5 * bar.height + 1.5),
        Rect::new(
            bar.x + bar.width - 0.3,
            bar.y - 1.5,
            0.3,
            0.5 * bar.height + 1.5,
        ),
        Rect::new(bar.x + bar.width - 0.3, bar.y + bar.height, 0.3, 1.5),
    ]));
    let above = bar.y - 3.5;
    shapes.push(words(
        "Check bar, 100 mm",
        bar.x,
        above,
        READING,
        Weight::Bold,
    ));
    let beside = bar.x + bar.width + 5.0;
    shapes.push(words(
        "Printers stretch and shrink. Measure the bar with a good ruler",
        beside,
        bar.y + 0.5,
        SMALL,
        Weight::Regular,
    ));
    shapes.push(words(
        "and tell the program what it measures: --print-bar 99.6mm",
        beside,
        bar.y + 4.5,
        SMALL,
        Weight::Regular,
    ));
    let markers = layout.markers();
    let ids = markers.iter().map(|m| m.id);
    let (first, last) = (ids.clone().min().unwrap_or(0), ids.max().unwrap_or(0));
    let ground = match layout.ground {
        Ground::White => "white ground",
        Ground::Grey => "grey ground",
    };
    let about = format!(
        "{} \u{b7} {ground} \u{b7} markers tag36h11 {first}-{last}",
        layout.paper.name()
    );
    shapes.push(ended(&about, page - 38.0, above, SMALL, Weight::Regular));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::Paper;

    #[test]
    fn nothing_is_drawn_into_the_window_or_off_the_page() {
        for paper in [Paper::A4, Paper::Letter] {
            let layout = Layout::new(paper, Ground::White);
            let (w, h) = paper.size_mm();
            let window = layout.window();
            let free = |r: &Rect| {
                assert!(r.x > 4.0 && r.y > 4.0 && r.x + r.width < w - 4.0, "{r:?}");
                assert!(r.y + r.height < h - 4.0, "{r:?}");
                let apart = r.x + r.width <= window.x
                    || r.x >= window.x + window.width
                    || r.y + r.height <= window.y
                    || r.y >= window.y + window.height;
                assert!(apart, "{r:?} lies in the window");
            };
            for shape in shapes(&layout) {
                match shape {
                    Shape::Rects { rects, .. } => rects.iter().for_each(free),
                    Shape::Polygon(points) => points
                        .iter()
                        .for_each(|p| free(&Rect::new(p.x, p.y, 0.0, 0.0))),
                    Shape::Words(line) => free(&Rect::new(
                        line.x,
                        line.baseline - 0.75 * line.size,
                        width(&line.words, line.size, line.weight),
                        line.size,
                    )),
                }
            }
        }
    }
}
