//! Where everything is on the sheet.

use crate::geometry::Point;

/// The paper's size, landscape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Paper {
    /// 297 × 210 mm (ISO 216).
    #[default]
    A4,
    /// 11 × 8½ in.
    Letter,
}

impl Paper {
    /// Width and height of the page, mm.
    #[must_use]
    pub const fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (297.0, 210.0),
            Self::Letter => (279.4, 215.9),
        }
    }

    /// The paper's name as people say it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }

    /// The first of the sheet's markers: each paper has markers of its own, so that a photo
    /// tells which it is.
    const fn first_marker(self) -> usize {
        match self {
            Self::A4 => 0,
            Self::Letter => PLACES.len(),
        }
    }
}

/// What the window for the band is printed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Ground {
    /// Bare paper, for bands that are dark or coloured.
    #[default]
    White,
    /// A grey, for bands that are light.
    Grey,
}

/// An upright rectangle of the page, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Rect {
    /// A rectangle from its left and top edges and its size, mm.
    #[must_use]
    pub const fn new(x: f64, y: f64, width: f64, height: f64) -> Self {
        Self {
            x,
            y,
            width,
            height,
        }
    }

    /// Its middle.
    #[must_use]
    pub fn centre(&self) -> Point {
        Point::new(self.x + 0.5 * self.width, self.y + 0.5 * self.height)
    }
}

/// One square marker of the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marker {
    /// Which of the family.
    pub id: usize,
    /// Where it is, in words ("top left corner").
    pub place: &'static str,
    /// Its middle, mm.
    pub centre: Point,
    /// Side of its black square, mm.
    pub side_mm: f64,
}

impl Marker {
    /// The corners of its black square, mm: top left, top right, bottom right, bottom left.
    #[must_use]
    pub fn corners(&self) -> [Point; 4] {
        let h = 0.5 * self.side_mm;
        [(-h, -h), (h, -h), (h, h), (-h, h)]
            .map(|(dx, dy)| Point::new(self.centre.x + dx, self.centre.y + dy))
    }
}

/// Side of the large markers' black squares, mm: a cell of 2.5 mm is 8 pixels wide in a photo of
/// 3 megapixels that shows the page with some table around it.
const LARGE_MM: f64 = 20.0;

/// Side of the markers beside the window, mm: what fits there with a white cell around it.
const SMALL_MM: f64 = 15.0;

/// The page's edge to the black of the corner markers, mm: no printer leaves more blank.
const MARGIN_MM: f64 = 10.0;

/// The window's least distance from the page's left and right edges, mm.
const WINDOW_SIDE_MM: f64 = 24.0;

/// The window's height, mm: a band of up to 55 mm lies in it with some ground in view.
const WINDOW_HEIGHT_MM: f64 = 60.0;

/// From the window to the markers above and below it, mm.
const GAP_MM: f64 = 8.0;

/// The places of the markers: across (0 left … 1 right between the corner markers), along which
/// row, and in words.
const PLACES: [(f64, Row, &str); 14] = [
    (0.0, Row::Top, "top left corner"),
    (1.0, Row::Top, "top right corner"),
    (1.0, Row::Bottom, "bottom right corner"),
    (0.0, Row::Bottom, "bottom left corner"),
    (0.25, Row::Above, "above the window, left"),
    (0.5, Row::Above, "above the window, middle"),
    (0.75, Row::Above, "above the window, right"),
    (0.25, Row::Below, "below the window, left"),
    (0.5, Row::Below, "below the window, middle"),
    (0.75, Row::Below, "below the window, right"),
    (0.0, Row::SideUpper, "left of the window, upper"),
    (0.0, Row::SideLower, "left of the window, lower"),
    (1.0, Row::SideUpper, "right of the window, upper"),
    (1.0, Row::SideLower, "right of the window, lower"),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Row {
    Top,
    Above,
    SideUpper,
    SideLower,
    Below,
    Bottom,
}

/// Where everything is on one sheet.
///
/// ```
/// use evenfell::sheet::{Ground, Layout, Paper};
/// let layout = Layout::new(Paper::A4, Ground::White);
/// assert_eq!(layout.markers().len(), 14);
/// assert_eq!(layout.check_bar().width, 100.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Layout {
    /// The paper.
    pub paper: Paper,
    /// What the window is printed with.
    pub ground: Ground,
}

impl Layout {
    /// The sheet for a paper and a ground.
    #[must_use]
    pub const fn new(paper: Paper, ground: Ground) -> Self {
        Self { paper, ground }
    }

    /// The sheet, on white ground, that carries a marker of the family.
    #[must_use]
    pub fn with_marker(id: usize) -> Option<Self> {
        [Paper::A4, Paper::Letter]
            .into_iter()
            .find(|paper| {
                let first = paper.first_marker();
                (first..first + PLACES.len()).contains(&id)
            })
            .map(|paper| Self::new(paper, Ground::White))
    }

    /// The window in which the band lies, mm.
    #[must_use]
    pub fn window(&self) -> Rect {
        let (width, height) = self.paper.size_mm();
        Rect::new(
            WINDOW_SIDE_MM,
            0.5 * (height - WINDOW_HEIGHT_MM) - 3.0,
            width - 2.0 * WINDOW_SIDE_MM,
            WINDOW_HEIGHT_MM,
        )
    }

    /// All markers of the sheet.
    #[must_use]
    pub fn markers(&self) -> Vec<Marker> {
        let (width, height) = self.paper.size_mm();
        let window = self.window();
        let first = self.paper.first_marker();
        let corner = MARGIN_MM + 0.5 * LARGE_MM;
        let side = 0.5 * WINDOW_SIDE_MM + 1.0;
        PLACES
            .iter()
            .enumerate()
            .map(|(i, &(across, row, place))| {
                let (inset, side_mm) = match row {
                    Row::SideUpper | Row::SideLower => (side, SMALL_MM),
                    _ => (corner, LARGE_MM),
                };
                let below = window.y + window.height;
                let y = match row {
                    Row::Top => corner,
                    Row::Above => window.y - GAP_MM - 0.5 * LARGE_MM,
                    Row::SideUpper => window.y + 0.5 * SMALL_MM,
                    Row::SideLower => below - 0.5 * SMALL_MM,
                    Row::Below => below + GAP_MM + 0.5 * LARGE_MM,
                    Row::Bottom => height - corner,
                };
                Marker {
                    id: first + i,
                    place,
                    centre: Point::new(inset + across * (width - 2.0 * inset), y),
                    side_mm,
                }
            })
            .collect()
    }

    /// The bar that a ruler is held against, exactly 100 mm long, mm.
    #[must_use]
    pub fn check_bar(&self) -> Rect {
        let (_, height) = self.paper.size_mm();
        Rect::new(38.0, height - MARGIN_MM - 8.0, CHECK_BAR_MM, 4.0)
    }

    /// The direction from the band's middle towards its start, as the sheet marks it.
    #[must_use]
    pub const fn start_direction(&self) -> Point {
        Point::new(-1.0, 0.0)
    }
}

/// Length of the check bar as drawn, mm.
pub const CHECK_BAR_MM: f64 = 100.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::markers::family::{CELLS, MARKERS};

    #[test]
    fn the_window_of_an_a4_sheet_leaves_the_promised_room() {
        let window = Layout::default().window();
        assert!(window.x <= 24.0 && window.x + window.width >= 267.0);
        assert!(window.y <= 72.0 && window.y + window.height >= 132.0);
    }

    #[test]
    fn markers_and_window_keep_clear_of_each_other_and_of_the_page_edge() {
        for paper in [Paper::A4, Paper::Letter] {
            let layout = Layout::new(paper, Ground::White);
            let (width, height) = paper.size_mm();
            let mut areas = vec![layout.window()];
            for marker in layout.markers() {
                // A white cell all round belongs to the marker.
                let side = marker.side_mm * 10.0 / 8.0;
                let centre = marker.centre;
                areas.push(Rect::new(
                    centre.x - 0.5 * side,
                    centre.y - 0.5 * side,
                    side,
                    side,
                ));
                let black = 0.5 * marker.side_mm + 5.0;
                assert!(centre.x >= black && centre.x <= width - black);
                assert!(centre.y >= black && centre.y <= height - black);
            }
            assert_eq!(CELLS, 8);
            for (i, a) in areas.iter().enumerate() {
                for b in &areas[i + 1..] {
                    let apart = a.x + a.width <= b.x
                        || b.x + b.width <= a.x
                        || a.y + a.height <= b.y
                        || b.y + b.height <= a.y;
                    assert!(apart, "{a:?} and {b:?}");
                }
            }
        }
    }

    #[test]
    fn every_marker_tells_its_paper() {
        for paper in [Paper::A4, Paper::Letter] {
            for marker in Layout::new(paper, Ground::Grey).markers() {
                assert!(marker.id < MARKERS);
                let layout = Layout::with_marker(marker.id).expect("it is on a sheet");
                assert_eq!(layout.paper, paper);
            }
        }
        assert_eq!(Layout::with_marker(MARKERS), None);
    }
}
