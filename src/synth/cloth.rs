//! The lit cloth: colour, cover and the shadow it throws, on a grid about a pixel fine.

use super::hairs::draw_hairs;
use super::rng::{Rng, Wander};
use super::tube::{Field, Skin};
use super::weave::Drawn;

/// Cells of the height field along the side of one cell of the lit cloth.
const FINE: usize = 2;
/// Cells of the height field along the side of one cell of the coarse planes.
const COARSE: usize = 4;
/// Cloth and shadow reach this far beyond the yarn, mm.
const MARGIN_MM: f64 = 6.0;

/// Where light comes from, in the cloth's own directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Lamp {
    /// Direction to the lamp along the band, across it, and upward (unit vector).
    pub towards: (f32, f32, f32),
    /// Share of the light that comes from all around.
    pub soft: f32,
}

/// A grid of values over the band.
#[derive(Clone, Debug)]
pub(super) struct Grid<T> {
    pub nx: usize,
    pub ny: usize,
    pub values: Vec<T>,
    pub origin_mm: (f64, f64),
    pub cell_mm: f64,
}

/// The cloth as it looks from above.
#[derive(Clone, Debug)]
pub(super) struct Cloth {
    /// Red, green, blue (linear light, times cover) and cover.
    pub lit: Grid<[f32; 4]>,
    /// Height of the yarn's top above the ground, mm, reaching one cell beyond the yarn; 0 where
    /// there is none.
    pub height: Grid<f32>,
    /// Thickness of the whole cloth, mm.
    pub thickness_mm: f32,
    /// Share of the lamp's light kept off the ground.
    pub shadow: Grid<f32>,
}

impl Cloth {
    /// Lays, lights and shades a band on cells of about `cell_mm`.
    pub(super) fn new(drawn: &Drawn, cell_mm: f64, lamp: Lamp) -> Self {
        let field = lay(drawn, cell_mm / FINE as f64);
        let coarse = coarse_height(&field);
        let reach_mm = drawn.truth.thickness_mm;
        let hollow = blurred(
            &coarse,
            (0.35 * reach_mm / coarse.cell_mm).ceil().max(1.0) as usize,
        );
        let mut lit = light(drawn, &field, &hollow, lamp);
        draw_hairs(drawn, &coarse, &mut lit);
        let shadow = shadow(&field, drawn, lamp);
        Self {
            lit,
            height: yarn_height(&field, drawn.floor_mm as f32),
            thickness_mm: drawn.truth.thickness_mm as f32,
            shadow,
        }
    }
}

/// Height of the yarn above the ground, mean of the cells that hold any; a cell without yarn takes
/// its highest neighbour's.
fn yarn_height(field: &Field, floor: f32) -> Grid<f32> {
    let above = |i: usize| (field.z[i] - floor).max(0.0);
    let mut height = downsampled(field, above);
    let cover = downsampled(field, |i| f32::from(u8::from(above(i) > 0.0)));
    for (z, share) in height.values.iter_mut().zip(&cover.values) {
        if *share > 0.0 {
            *z /= share;
        }
    }
    let (nx, ny) = (height.nx, height.ny);
    let inner = height.values.clone();
    for y in 1..ny.saturating_sub(1) {
        for x in 1..nx.saturating_sub(1) {
            if inner[y * nx + x] <= 0.0 {
                let around = (y - 1..=y + 1).flat_map(|j| (x - 1..=x + 1).map(move |i| (i, j)));
                height.values[y * nx + x] =
                    around.map(|(i, j)| inner[j * nx + i]).fold(0.0, f32::max);
            }
        }
    }
    height
}

fn lay(drawn: &Drawn, cell_mm: f64) -> Field {
    let (from, to, across) = drawn.extent_mm;
    let block = FINE * COARSE;
    let cells = |length: f64| ((length / cell_mm) as usize / block + 1) * block;
    let (nx, ny) = (
        cells(to - from + 2.0 * MARGIN_MM),
        cells(2.0 * (across + MARGIN_MM)),
    );
    let origin = (from - MARGIN_MM, -across - MARGIN_MM);
    let mut field = Field::new(nx, ny, cell_mm, origin, drawn.floor_mm);
    let skins: Vec<Skin> = drawn
        .looks
        .iter()
        .enumerate()
        .map(|(i, look)| {
            let radius = drawn
                .yarns
                .iter()
                .find(|yarn| yarn.look == i)
                .and_then(|yarn| yarn.knots.get(yarn.knots.len() / 2))
                .map_or(0.5, |knot| knot.r);
            Skin::new(look, radius, drawn.spec.seed.wrapping_add(i as u64))
        })
        .collect();
    for yarn in &drawn.yarns {
        field.lay(yarn, &skins[yarn.look], drawn.spec.flatness);
    }
    field
}

/// Mean height over blocks of cells.
fn coarse_height(field: &Field) -> Grid<f32> {
    downsampled(field, |i| field.z[i])
}

fn downsampled(field: &Field, value: impl Fn(usize) -> f32) -> Grid<f32> {
    let (nx, ny) = (field.nx / COARSE, field.ny / COARSE);
    let share = 1.0 / (COARSE * COARSE) as f32;
    let mut values = vec![0.0; nx * ny];
    for y in 0..ny * COARSE {
        let row = &mut values[(y / COARSE) * nx..(y / COARSE + 1) * nx];
        for (x, slot) in row.iter_mut().enumerate() {
            let first = y * field.nx + x * COARSE;
            *slot += share * (first..first + COARSE).map(&value).sum::<f32>();
        }
    }
    Grid {
        nx,
        ny,
        values,
        origin_mm: centred(field, COARSE),
        cell_mm: field.cell_mm * COARSE as f64,
    }
}

/// Centre of the first block of `block` × `block` cells.
fn centred(field: &Field, block: usize) -> (f64, f64) {
    let half = 0.5 * (block - 1) as f64 * field.cell_mm;
    (field.origin_mm.0 + half, field.origin_mm.1 + half)
}

/// Two passes of a running mean along both axes.
fn blurred(grid: &Grid<f32>, radius: usize) -> Grid<f32> {
    let mut out = grid.clone();
    for _ in 0..2 {
        for row in out.values.chunks_exact_mut(grid.nx) {
            running_mean(row, radius);
        }
        running_mean_down(&mut out.values, grid.nx, radius);
    }
    out
}

fn running_mean(row: &mut [f32], radius: usize) {
    let source = row.to_vec();
    let n = source.len();
    let share = 1.0 / (2 * radius + 1) as f32;
    let at = |i: isize| source[i.clamp(0, n as isize - 1) as usize];
    let mut sum: f32 = (-(radius as isize)..=radius as isize).map(at).sum();
    for (i, slot) in row.iter_mut().enumerate() {
        *slot = sum * share;
        sum += at((i + radius + 1) as isize) - at(i as isize - radius as isize);
    }
}

/// The same down all columns at once.
fn running_mean_down(values: &mut [f32], nx: usize, radius: usize) {
    let source = values.to_vec();
    let ny = source.len() / nx;
    let row = |y: isize| {
        let y = y.clamp(0, ny as isize - 1) as usize;
        &source[y * nx..(y + 1) * nx]
    };
    let share = 1.0 / (2 * radius + 1) as f32;
    let mut sum = vec![0.0_f32; nx];
    for y in -(radius as isize)..=radius as isize {
        for (total, value) in sum.iter_mut().zip(row(y)) {
            *total += value;
        }
    }
    for (y, out) in values.chunks_exact_mut(nx).enumerate() {
        let (gone, fresh) = (
            row(y as isize - radius as isize),
            row((y + radius + 1) as isize),
        );
        for (x, slot) in out.iter_mut().enumerate() {
            *slot = sum[x] * share;
            sum[x] += fresh[x] - gone[x];
        }
    }
}

/// Lights every cell and averages blocks of them.
fn light(drawn: &Drawn, field: &Field, hollow: &Grid<f32>, lamp: Lamp) -> Grid<[f32; 4]> {
    let colours: Vec<[f32; 3]> = drawn.looks.iter().map(|look| linear(look.colour)).collect();
    let sheens: Vec<f32> = drawn.looks.iter().map(|look| look.sheen as f32).collect();
    let (nx, ny) = (field.nx / FINE, field.ny / FINE);
    let mut values = vec![[0.0_f32; 4]; nx * ny];
    let slope = 0.5 / field.cell_mm as f32;
    let deep = 1.1 / drawn.truth.thickness_mm.max(0.1) as f32;
    let share = 1.0 / (FINE * FINE) as f32;
    let mut around = vec![0.0_f32; field.nx];
    let folds = Folds::new(drawn, field);
    for y in 0..field.ny {
        hollow_row(hollow, y, &mut around);
        let (up, down) = (
            y.saturating_sub(1) * field.nx,
            (y + 1).min(field.ny - 1) * field.nx,
        );
        let here = y * field.nx;
        let out = &mut values[(y / FINE) * nx..(y / FINE + 1) * nx];
        for x in 1..field.nx - 1 {
            let i = here + x;
            let cover = field.cover[i];
            if cover <= 0.0 {
                continue;
            }
            let z = field.z[i];
            let gx = ((field.z[i + 1] - field.z[i - 1]) * slope).clamp(-2.0, 2.0);
            let gy = ((field.z[down + x] - field.z[up + x]) * slope).clamp(-2.0, 2.0);
            let norm = 1.0 / (1.0 + gx * gx + gy * gy).sqrt();
            let facing =
                ((lamp.towards.2 - gx * lamp.towards.0 - gy * lamp.towards.1) * norm).max(0.0);
            let open = 1.0 / (1.0 + (deep * (around[x] - z)).max(0.0) * 3.6);
            let sky = lamp.soft * (0.25 + 0.75 * norm) * open;
            let look = usize::from(field.look[i]);
            let shine = sheens[look] * facing.powi(12) * 0.07;
            let gain = (sky + (1.0 - lamp.soft) * facing * (0.35 + 0.65 * open))
                * field.tone[i]
                * (1.0 + folds.along[x] + folds.across[y]);
            let colour = colours[look];
            let cell = &mut out[x / FINE];
            let weight = cover * share;
            for c in 0..3 {
                cell[c] += weight * (colour[c] * gain + shine);
            }
            cell[3] += weight;
        }
    }
    Grid {
        nx,
        ny,
        values,
        origin_mm: centred(field, FINE),
        cell_mm: field.cell_mm * FINE as f64,
    }
}

/// Soft folds of the cloth: lightness along and across it.
struct Folds {
    along: Vec<f32>,
    across: Vec<f32>,
}

impl Folds {
    fn new(drawn: &Drawn, field: &Field) -> Self {
        let mut rng = Rng::fork(drawn.spec.seed, 55);
        let mut line = |count: usize, wavelength_mm: f64| -> Vec<f32> {
            let wander = Wander::new(&mut rng, wavelength_mm);
            (0..count)
                .map(|i| (drawn.spec.creases * wander.at(i as f64 * field.cell_mm)) as f32)
                .collect()
        };
        Self {
            along: line(field.nx, 45.0),
            across: line(field.ny, 1.3 * drawn.truth.width_mm.max(5.0)),
        }
    }
}

/// The coarse plane read along one row of fine cells.
fn hollow_row(hollow: &Grid<f32>, y: usize, out: &mut [f32]) {
    let at = ((y as f32 + 0.5) / COARSE as f32 - 0.5).clamp(0.0, (hollow.ny - 1) as f32);
    let y0 = at as usize;
    let (y1, fy) = ((y0 + 1).min(hollow.ny - 1), at - y0 as f32);
    let (a, b) = (
        &hollow.values[y0 * hollow.nx..],
        &hollow.values[y1 * hollow.nx..],
    );
    for (x, slot) in out.iter_mut().enumerate() {
        let at = ((x as f32 + 0.5) / COARSE as f32 - 0.5).clamp(0.0, (hollow.nx - 1) as f32);
        let x0 = at as usize;
        let (x1, fx) = ((x0 + 1).min(hollow.nx - 1), at - x0 as f32);
        let top = a[x0] + (a[x1] - a[x0]) * fx;
        let low = b[x0] + (b[x1] - b[x0]) * fx;
        *slot = top + (low - top) * fy;
    }
}

/// Shadow on the ground: the cover, moved away from the lamp by its height and blurred.
fn shadow(field: &Field, drawn: &Drawn, lamp: Lamp) -> Grid<f32> {
    let floor = drawn.floor_mm as f32;
    let tall = drawn.truth.thickness_mm.max(0.2);
    let full = 0.5 * tall as f32;
    let cover = downsampled(field, |i| {
        field.cover[i] * ((field.z[i] - floor) / full).clamp(0.0, 1.0)
    });
    let radius = |mm: f64| (mm / cover.cell_mm).ceil().max(1.0) as usize;
    let contact = blurred(&cover, radius(0.25 * tall));
    let cast = blurred(
        &cover,
        radius(0.4 * tall + 0.3 * tall * f64::from(lamp.soft)),
    );
    let length = 0.8 * tall / f64::from(lamp.towards.2.max(0.3));
    let shift = (
        length * f64::from(lamp.towards.0),
        length * f64::from(lamp.towards.1),
    );
    let (ox, oy) = (
        (shift.0 / cast.cell_mm).round() as isize,
        (shift.1 / cast.cell_mm).round() as isize,
    );
    let mut out = contact;
    for y in 0..out.ny {
        for x in 0..out.nx {
            let (cx, cy) = (x as isize + ox, y as isize + oy);
            let inside = cx >= 0 && cy >= 0 && (cx as usize) < cast.nx && (cy as usize) < cast.ny;
            let thrown = if inside {
                cast.values[cy as usize * cast.nx + cx as usize]
            } else {
                0.0
            };
            let slot = &mut out.values[y * cast.nx + x];
            *slot = (0.45 * lamp.soft * *slot + (1.0 - lamp.soft) * thrown).min(0.9);
        }
    }
    out
}

/// sRGB to linear light.
pub(super) fn linear(colour: [f64; 3]) -> [f32; 3] {
    colour.map(|c| {
        let c = c.clamp(0.0, 1.0);
        let light = if c <= 0.040_45 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        };
        light as f32
    })
}
