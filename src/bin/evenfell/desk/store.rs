//! What lies on the desk: in memory, and no more than fits.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard};

use axum::body::Bytes;
use evenfell::corrections::Corrections;
use evenfell::measurement::Measurement;
use evenfell::photo::{self, Photo, PhotoOptions};
use evenfell::plan::{LengthUnits, Plan};
use evenfell::report::Overlay;
use tokio::sync::Semaphore;

use super::refusal::Refusal;
use crate::one::{Looked, Measured};

/// Largest photo that is taken, bytes.
pub(super) const MOST_PHOTO_BYTES: usize = 128 << 20;
/// All photos together, bytes.
const MOST_BYTES: usize = 1 << 30;
/// Photos at once.
const MOST_PHOTOS: usize = 200;
/// Most pixels of a photo.
const MOST_PIXELS: u64 = 120_000_000;
/// Decoded photos kept at hand.
const DECODED: usize = 2;

/// Everything on the desk.
#[derive(Debug)]
pub(super) struct Desk {
    inner: Mutex<Inner>,
    /// Photos being decoded, measured or written at once.
    work: Arc<Semaphore>,
    /// Photos being taken in at once.
    pub(super) uploads: Semaphore,
}

#[derive(Debug, Default)]
struct Inner {
    last: u64,
    photos: BTreeMap<u64, Entry>,
    decoded: Vec<(u64, Arc<Photo>)>,
    looked: Option<(String, Arc<Looked>)>,
}

/// One photo on the desk.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    /// The file's bare name.
    pub(super) name: String,
    /// The file.
    pub(super) bytes: Bytes,
    /// Width and height, px.
    pub(super) size: (u32, u32),
    /// What came of it last.
    pub(super) done: Option<Arc<Done>>,
}

/// A measured band.
#[derive(Debug)]
pub(super) struct Done {
    pub(super) measurement: Measurement,
    pub(super) overlay: Overlay,
    pub(super) verdict: Vec<String>,
    pub(super) plan: Option<Plan>,
    /// The plan as it was written.
    pub(super) plan_text: Option<String>,
    pub(super) units: Option<LengthUnits>,
    pub(super) corrections: Corrections,
}

impl Done {
    /// With its photo, as the files are written from.
    pub(super) fn with_photo(&self, photo: Arc<Photo>) -> Measured {
        Measured {
            photo,
            measurement: self.measurement.clone(),
            overlay: self.overlay.clone(),
            verdict: self.verdict.clone(),
        }
    }
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            inner: Mutex::default(),
            work: Arc::new(Semaphore::new(2)),
            uploads: Semaphore::new(3),
        }
    }
}

impl Desk {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        // What panicked while it held the lock left whole entries behind.
        self.inner
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// Runs work that takes a while beside the conversation, a little of it at once.
    pub(super) async fn work<T: Send + 'static>(
        self: &Arc<Self>,
        what: impl FnOnce(&Self) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let desk = Arc::clone(self);
        let turn = Arc::clone(&self.work)
            .acquire_owned()
            .await
            .map_err(|_| Refusal::broken("the desk is closing"))?;
        let work = move || {
            // The turn lasts as long as the work, even where nobody waits for it any more.
            let _turn = turn;
            what(&desk)
        };
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|_| Refusal::broken("that broke off by a mistake of this program's own"))?
    }

    /// Puts a photo on the desk and gives its number; a photo that can't be read isn't put there.
    pub(super) fn put(&self, name: &str, bytes: Bytes) -> Result<(u64, Entry), Refusal> {
        {
            let inner = self.lock();
            let held: usize = inner.photos.values().map(|entry| entry.bytes.len()).sum();
            if inner.photos.len() >= MOST_PHOTOS || held + bytes.len() > MOST_BYTES {
                return Err(Refusal::too_much(
                    "the desk is full: save what is done and take some photos off it",
                ));
            }
        }
        let photo = decode(&bytes, name)?;
        let entry = Entry {
            name: name.to_owned(),
            size: (photo.pixels.width(), photo.pixels.height()),
            bytes,
            done: None,
        };
        let mut inner = self.lock();
        inner.last += 1;
        let id = inner.last;
        inner.photos.insert(id, entry.clone());
        inner.keep(id, Arc::new(photo));
        Ok((id, entry))
    }

    /// Takes a photo off the desk.
    pub(super) fn take_off(&self, id: u64) -> Result<(), Refusal> {
        let mut inner = self.lock();
        inner.decoded.retain(|(other, _)| *other != id);
        inner.looked = None;
        let gone = inner.photos.remove(&id);
        gone.map(|_| ()).ok_or_else(|| no_photo(id))
    }

    /// Every photo, oldest first.
    pub(super) fn all(&self) -> Vec<(u64, Entry)> {
        let inner = self.lock();
        inner
            .photos
            .iter()
            .map(|(id, entry)| (*id, entry.clone()))
            .collect()
    }

    /// One photo.
    pub(super) fn entry(&self, id: u64) -> Result<Entry, Refusal> {
        let found = self.lock().photos.get(&id).cloned();
        found.ok_or_else(|| no_photo(id))
    }

    /// What came of a photo.
    pub(super) fn done(&self, id: u64) -> Result<Arc<Done>, Refusal> {
        let done = self.entry(id)?.done;
        done.ok_or_else(|| Refusal::missing("a result of this photo"))
    }

    /// Keeps what came of a photo; `None` where it can't be measured any more.
    pub(super) fn set_done(&self, id: u64, done: Option<Arc<Done>>) {
        if let Some(entry) = self.lock().photos.get_mut(&id) {
            entry.done = done;
        }
    }

    /// A photo's pixels.
    pub(super) fn photo(&self, id: u64) -> Result<Arc<Photo>, Refusal> {
        let entry = {
            let inner = self.lock();
            if let Some((_, photo)) = inner.decoded.iter().find(|(other, _)| *other == id) {
                return Ok(Arc::clone(photo));
            }
            inner.photos.get(&id).cloned().ok_or_else(|| no_photo(id))?
        };
        let photo = Arc::new(decode(&entry.bytes, &entry.name)?);
        self.lock().keep(id, Arc::clone(&photo));
        Ok(photo)
    }

    /// What the program saw last by itself, if it was asked the same.
    pub(super) fn looked(&self, asked: &str) -> Option<Arc<Looked>> {
        let inner = self.lock();
        let (last, looked) = inner.looked.as_ref()?;
        (last == asked).then(|| Arc::clone(looked))
    }

    /// Keeps what the program saw by itself.
    pub(super) fn keep_looked(&self, asked: String, looked: Arc<Looked>) {
        self.lock().looked = Some((asked, looked));
    }
}

impl Inner {
    fn keep(&mut self, id: u64, photo: Arc<Photo>) {
        self.decoded.retain(|(other, _)| *other != id);
        self.decoded.insert(0, (id, photo));
        self.decoded.truncate(DECODED);
    }
}

fn decode(bytes: &[u8], name: &str) -> Result<Photo, Refusal> {
    let options = PhotoOptions {
        max_pixels: MOST_PIXELS,
        max_file_bytes: MOST_PHOTO_BYTES as u64,
    };
    Ok(photo::decode(bytes, name, &options)?)
}

fn no_photo(id: u64) -> Refusal {
    Refusal::missing(&format!("photo {id}"))
}
