//! A bench as bytes, and back: the result of conditioning is kept this way and need not be driven again.
//!
//! *Inside*: which parts of a bench change and so must be kept. Parameters and values calculated from them
//! are not kept: they are rebuilt from the setup. *Outside*: where the bytes are kept, and when they are
//! stale (`store`).
//!
//! The bytes belong to one setup and one build: they contain no names and no versions.
//!
//! **Checked by** `same_…` in `tests/bench/cache.rs`.

use crate::bench::drive::Foot;
use crate::bench::driver::Driver;
use crate::bench::life::Slow;
use crate::bench::record::Entry;
use crate::bench::setup::Setup;
use crate::bench::tools;
use crate::bench::{Bench, Error, IdleSample};
use crate::ecm;
use crate::plant;
use serde::{Deserialize, Serialize};

#[derive(Serialize)]
struct Kept<'a> {
    plant: &'a plant::State,
    ecm: &'a ecm::State,
    start_s: f64,
    log: &'a [Entry],
    ring: &'a [IdleSample],
    ring_next: u64,
    frames: u64,
    cranking_since_s: Option<f64>,
    fitted: u32,
    driver: &'a Option<Driver>,
    foot: &'a Option<Foot>,
    slow: &'a Option<Slow>,
    bay: &'a tools::State,
}

#[derive(Deserialize)]
struct Read {
    plant: plant::State,
    ecm: ecm::State,
    start_s: f64,
    log: Vec<Entry>,
    ring: Vec<IdleSample>,
    ring_next: u64,
    frames: u64,
    cranking_since_s: Option<f64>,
    fitted: u32,
    driver: Option<Driver>,
    foot: Option<Foot>,
    slow: Option<Slow>,
    bay: tools::State,
}

impl Bench {
    /// Everything that changes, as bytes for [`Bench::from_bytes`] with the same setup.
    pub fn to_bytes(&self) -> Vec<u8> {
        let kept = Kept {
            plant: &self.plant.s,
            ecm: &self.ecm.s,
            start_s: self.start_s,
            log: &self.log,
            ring: &self.ring,
            ring_next: self.ring_next as u64,
            frames: self.frames,
            cranking_since_s: self.cranking_since_s,
            fitted: self.fitted,
            driver: &self.driver,
            foot: &self.foot,
            slow: &self.slow,
            bay: &self.bay.s,
        };
        // Serialising plain data into memory cannot fail.
        postcard::to_allocvec(&kept).unwrap_or_default()
    }

    /// Restores a bench exactly as it was when its bytes were taken, with the same setup and the same build.
    ///
    /// # Errors
    /// The setup is none, or the bytes are no snapshot of its car.
    pub fn from_bytes(setup: &Setup, bytes: &[u8]) -> Result<Self, Error> {
        Self::standing(setup)?.restored(bytes)
    }

    /// This bench as it was when its bytes were taken, whatever has happened to it since.
    ///
    /// # Errors
    /// The bytes are no snapshot, or one of another car.
    pub fn restored(self, bytes: &[u8]) -> Result<Self, Error> {
        let mut b = self;
        let unfit = || Error::Setup(super::Unfit::Bytes);
        let read: Read = postcard::from_bytes(bytes).map_err(|_| unfit())?;
        let same_car = b.plant.s.lengths() == read.plant.lengths() && b.ecm.s.lengths() == read.ecm.lengths();
        if !same_car || read.ring.len() > super::IDLE_RING {
            return Err(unfit());
        }
        b.plant.s = read.plant;
        b.plant.rederive();
        b.ecm.s = read.ecm;
        b.start_s = read.start_s;
        b.log = read.log;
        b.ring.clear();
        b.ring.extend_from_slice(&read.ring);
        b.ring_next = read.ring_next as usize % super::IDLE_RING;
        b.frames = read.frames;
        b.cranking_since_s = read.cranking_since_s;
        b.fitted = read.fitted;
        b.driver = read.driver;
        b.foot = read.foot;
        b.slow = read.slow;
        b.bay.s = read.bay;
        Ok(b)
    }
}
