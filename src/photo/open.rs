//! Opens a file as a [`Photo`].

use std::fs::File;
use std::io::{BufReader, Cursor, Read, Seek};
use std::path::Path;

use image::DynamicImage;
use image::metadata::Orientation;
use sha2::{Digest, Sha256};

use super::exif_tags::{self, Tags};
use super::kind::{self, Kind};
use super::segments::{self, Segments};
use super::{Density, DensitySource, Photo, pixels};
use crate::{Error, Result};

/// What [`open`] and [`decode`] take in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoOptions {
    /// Most pixels that are decoded; checked before decoding. Memory grows with it: 3 bytes a
    /// pixel stay, up to 12 are needed on the way. Default: 300 million.
    pub max_pixels: u64,
    /// Largest file that is read, bytes. Default: 2 GiB.
    pub max_file_bytes: u64,
}

impl Default for PhotoOptions {
    fn default() -> Self {
        Self {
            max_pixels: 300_000_000,
            max_file_bytes: 2 << 30,
        }
    }
}

/// Opens a photo or a scan: JPEG, PNG, TIFF or WebP, known by its content and not by its name.
///
/// # Errors
///
/// [`Error::File`] when the file can't be read; [`Error::Photo`] when it is no picture, is
/// damaged or cut off, or is larger than the options allow.
///
/// # Examples
///
/// ```no_run
/// use evenfell::photo::{self, PhotoOptions};
/// let photo = photo::open("lamp-pull.jpg".as_ref(), &PhotoOptions::default())?;
/// println!("{} × {} px", photo.pixels.width(), photo.pixels.height());
/// # Ok::<(), evenfell::Error>(())
/// ```
pub fn open(path: &Path, options: &PhotoOptions) -> Result<Photo> {
    let failed = |source| Error::File {
        path: path.to_owned(),
        source,
    };
    let name = path
        .file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned();
    let refuse = |why: String| Error::Photo {
        file: name.clone(),
        why,
    };
    let about = std::fs::metadata(path).map_err(failed)?;
    if about.is_dir() {
        return Err(refuse(
            "is a folder: name the photos in it one by one".to_owned(),
        ));
    }
    if !about.is_file() {
        return Err(refuse(
            "is no ordinary file: give a photo or a scan".to_owned(),
        ));
    }
    check_bytes(about.len(), options).map_err(refuse)?;
    let mut file = File::open(path).map_err(failed)?;
    let mut head = Vec::new();
    (&mut file)
        .take(kind::HEAD_BYTES as u64)
        .read_to_end(&mut head)
        .map_err(failed)?;
    file.rewind().map_err(failed)?;
    if kind::of(&head).map_err(refuse)? == Kind::Tiff {
        // A scan in 16 bits is large: it is read in passes and never lies in memory beside its
        // own pixels.
        return open_tiff(file, &name, options, &failed);
    }
    let mut bytes = Vec::new();
    file.take(options.max_file_bytes)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    decode(&bytes, &name, options)
}

fn open_tiff(
    mut file: File,
    name: &str,
    options: &PhotoOptions,
    failed: &dyn Fn(std::io::Error) -> Error,
) -> Result<Photo> {
    let mut hash = Sha256::new();
    let mut block = Vec::new();
    file.read_to_end(&mut block).map_err(failed)?;
    hash.update(&block);
    let tags = exif_tags::read(block, DensitySource::Tiff);
    file.rewind().map_err(failed)?;
    let image = pixels::of_tiff(BufReader::new(file), options).map_err(|why| Error::Photo {
        file: name.to_owned(),
        why,
    })?;
    let densities = tags.density.into_iter().collect();
    Ok(upright(image, name, &hash.finalize(), densities, tags))
}

/// Decodes a photo that is already in memory; `name` is the bare name that results and messages
/// show.
///
/// # Errors
///
/// [`Error::Photo`] as for [`open`].
///
/// # Examples
///
/// ```
/// use evenfell::photo::{self, PhotoOptions};
/// let refused = photo::decode(b"%PDF-1.7", "pattern.pdf", &PhotoOptions::default());
/// assert!(refused.unwrap_err().to_string().contains("PDF"));
/// ```
pub fn decode(bytes: &[u8], name: &str, options: &PhotoOptions) -> Result<Photo> {
    let refuse = |why: String| Error::Photo {
        file: name.to_owned(),
        why,
    };
    check_bytes(bytes.len() as u64, options).map_err(refuse)?;
    let kind = kind::of(&bytes[..bytes.len().min(kind::HEAD_BYTES)]).map_err(refuse)?;
    let pixels = || match kind {
        Kind::Jpeg => pixels::of_jpeg(bytes, options),
        Kind::Png => pixels::of_png(bytes, options),
        Kind::WebP => pixels::of_webp(bytes, options),
        Kind::Tiff => pixels::of_tiff(Cursor::new(bytes), options),
    };
    let (image, digest) = rayon::join(pixels, || Sha256::digest(bytes));
    let around = match kind {
        Kind::Jpeg => segments::of_jpeg(bytes),
        Kind::Png => segments::of_png(bytes),
        Kind::WebP => segments::of_webp(bytes),
        Kind::Tiff => Segments {
            exif: Some(bytes),
            density: None,
            rounding: None,
        },
    };
    let image = image.map_err(refuse)?;
    let source = if kind == Kind::Tiff {
        DensitySource::Tiff
    } else {
        DensitySource::Exif
    };
    let tags = around
        .exif
        .map(|block| exif_tags::read(block.to_vec(), source))
        .unwrap_or_default();
    let densities = around.density.into_iter().chain(tags.density).collect();
    let mut photo = upright(image, name, &digest, densities, tags);
    photo.jpeg_rounding = around.rounding.unwrap_or(0.0);
    Ok(photo)
}

fn check_bytes(length: u64, options: &PhotoOptions) -> std::result::Result<(), String> {
    if length > options.max_file_bytes {
        return Err(format!(
            "the file is {} MiB large, and {} MiB is the most that is read: scan at a lower \
             resolution or crop it to the band",
            length >> 20,
            options.max_file_bytes >> 20
        ));
    }
    Ok(())
}

/// Turns pixels and densities as the file says and puts the photo together.
fn upright(
    image: image::RgbImage,
    name: &str,
    digest: &[u8],
    mut densities: Vec<Density>,
    tags: Tags,
) -> Photo {
    let mut image = DynamicImage::ImageRgb8(image);
    image.apply_orientation(tags.orientation);
    let quarter_turned = matches!(
        tags.orientation,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    );
    if quarter_turned {
        for density in &mut densities {
            *density = density.swapped();
        }
    }
    Photo {
        file: name.to_owned(),
        sha256: digest.iter().map(|byte| format!("{byte:02x}")).collect(),
        pixels: image.into_rgb8(),
        densities,
        camera: tags.camera,
        jpeg_rounding: 0.0,
    }
}
