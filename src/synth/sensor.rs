//! Lens blur, noise and the step to 8 bits.

use image::RgbImage;

use super::camera::Camera;
use super::photograph::Pixel;
use super::rng::Rng;

/// Entries of the table from linear light to levels.
const LEVELS: usize = 4096;

/// Defocus, then motion, in linear light.
pub(super) fn blur(camera: &Camera, light: &mut [[f32; 3]], size_px: (u32, u32)) {
    let (width, height) = (size_px.0 as usize, size_px.1 as usize);
    if camera.defocus_px > 0.05 {
        let taps = gaussian(camera.defocus_px);
        convolve(light, width, height, &taps, (1, 0));
        convolve(light, width, height, &taps, (0, 1));
    }
    if camera.motion.0 > 0.5 {
        motion(light, width, height, camera.motion);
    }
}

fn gaussian(sigma: f64) -> Vec<f32> {
    let reach = (3.0 * sigma).ceil() as i32;
    let taps: Vec<f64> = (-reach..=reach)
        .map(|i| (-0.5 * (f64::from(i) / sigma).powi(2)).exp())
        .collect();
    let sum: f64 = taps.iter().sum();
    taps.iter().map(|tap| (tap / sum) as f32).collect()
}

/// One pass of a symmetric kernel along rows (step 1, 0) or columns (step 0, 1).
fn convolve(
    light: &mut [[f32; 3]],
    width: usize,
    height: usize,
    taps: &[f32],
    step: (usize, usize),
) {
    let source = light.to_vec();
    let reach = taps.len() / 2;
    let (along, jump) = if step.0 > 0 {
        (width, 1)
    } else {
        (height, width)
    };
    for (i, out) in light.iter_mut().enumerate() {
        let at = if step.0 > 0 { i % width } else { i / width };
        let mut sum = [0.0_f32; 3];
        for (k, tap) in taps.iter().enumerate() {
            let to = (at + k).saturating_sub(reach).min(along - 1);
            let from = &source[i + to * jump - at * jump];
            for c in 0..3 {
                sum[c] += tap * from[c];
            }
        }
        *out = sum;
    }
}

fn motion(light: &mut [[f32; 3]], width: usize, height: usize, (length, direction): (f64, f64)) {
    let source = light.to_vec();
    let count = (2.0 * length).ceil().max(2.0) as usize;
    let (sin, cos) = direction.sin_cos();
    let offsets: Vec<(isize, isize)> = (0..count)
        .map(|i| {
            let along = length * ((i as f64 + 0.5) / count as f64 - 0.5);
            (
                (along * cos).round() as isize,
                (along * sin).round() as isize,
            )
        })
        .collect();
    let share = 1.0 / count as f32;
    for y in 0..height {
        for x in 0..width {
            let mut sum = [0.0_f32; 3];
            for &(dx, dy) in &offsets {
                let sx = (x as isize + dx).clamp(0, width as isize - 1) as usize;
                let sy = (y as isize + dy).clamp(0, height as isize - 1) as usize;
                for c in 0..3 {
                    sum[c] += source[sy * width + sx][c];
                }
            }
            light[y * width + x] = sum.map(|v| v * share);
        }
    }
}

/// Linear light to 8 bits, with noise.
pub(super) fn read(camera: &Camera, light: &[[f32; 3]], size_px: (u32, u32)) -> RgbImage {
    let table = levels();
    let mut rng = Rng::fork(camera.seed, 4242);
    let noise = camera.noise as f32;
    let tint = camera.light.tint.map(|gain| gain as f32);
    let mut picture = RgbImage::new(size_px.0, size_px.1);
    for (pixel, value) in picture.pixels_mut().zip(light) {
        let grey = 0.8 * noise * rng.rough_normal();
        let hue = 0.6 * noise * rng.rough_normal();
        let level = |c: usize, extra: f32| {
            let root = (value[c] * tint[c]).clamp(0.0, 1.0).sqrt();
            let level = table[(root * (LEVELS - 1) as f32) as usize];
            (level + grey + extra + 0.5) as u8
        };
        *pixel = image::Rgb([level(0, hue), level(1, -0.5 * hue), level(2, -hue)]);
    }
    if camera.half_colour {
        halve_colour(&mut picture);
    }
    picture
}

/// Levels (0 to 255) over the square root of linear light.
fn levels() -> Vec<f32> {
    (0..LEVELS)
        .map(|i| {
            let root = (i as f32 + 0.5) / LEVELS as f32;
            let v = root * root;
            let encoded = if v <= 0.003_130_8 {
                12.92 * v
            } else {
                1.055 * v.powf(1.0 / 2.4) - 0.055
            };
            255.0 * encoded
        })
        .collect()
}

/// Colour (not lightness) averaged over blocks of 2 × 2 pixels, as most phones write it.
fn halve_colour(picture: &mut RgbImage) {
    let (width, height) = picture.dimensions();
    for y in (0..height.saturating_sub(1)).step_by(2) {
        for x in (0..width.saturating_sub(1)).step_by(2) {
            let places = [(x, y), (x + 1, y), (x, y + 1), (x + 1, y + 1)];
            let mut away = [0.0_f32; 3];
            for (px, py) in places {
                let pixel = picture.get_pixel(px, py);
                let grey = luma(pixel);
                for (sum, level) in away.iter_mut().zip(pixel.0) {
                    *sum += 0.25 * (f32::from(level) - grey);
                }
            }
            for (px, py) in places {
                let grey = luma(picture.get_pixel(px, py));
                let mixed = away.map(|a| (grey + a).round().clamp(0.0, 255.0) as u8);
                picture.put_pixel(px, py, image::Rgb(mixed));
            }
        }
    }
}

fn luma(pixel: &Pixel) -> f32 {
    0.299 * f32::from(pixel.0[0]) + 0.587 * f32::from(pixel.0[1]) + 0.114 * f32::from(pixel.0[2])
}
