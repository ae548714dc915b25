//! What was heard of a run, as the bytes of a sound file.
//!
//! *Outside*: how samples are made ([`crate::bench::sound`]), where the file is stored (the front).

use super::{Error, Run, Stretch};
use crate::bench::sound::RATE_HZ;
use crate::session::hearing::{LONGEST_S, USUAL_S};
use crate::words::numbers::number;
use crate::words::say;
use std::io::Cursor;

/// Samples over which the end is faded out: 20 ms.
const FADE: usize = RATE_HZ as usize / 50;

/// A stretch to hear from what a person gave \[s\], refused where it cannot be heard.
pub fn stretch(from_s: Option<f64>, for_s: Option<f64>) -> Result<Stretch, Error> {
    let (from_s, for_s) = (from_s.unwrap_or(0.0), for_s.unwrap_or(USUAL_S));
    if !(from_s >= 0.0 && from_s.is_finite()) {
        return Err(Error::rule(say!("usage-sound-from", given = from_s.to_string())));
    }
    if !(for_s > 0.0 && for_s <= LONGEST_S) {
        return Err(Error::rule(say!("usage-sound-for", given = for_s.to_string(), most = LONGEST_S)));
    }
    Ok(Stretch { from_s, for_s })
}

/// What a written file holds, and the caution that goes with it.
pub fn told(file: &str, run: &Run) -> String {
    let long_s = run.heard.len() as f64 / f64::from(RATE_HZ);
    let silent = run.heard.iter().all(|x| x.unsigned_abs() < 2);
    say!(
        "app-sound-written",
        file = file,
        long = number(long_s, 1),
        silent = if silent { "yes" } else { "no" }
    )
}

/// What was heard of a run as a WAV file: one channel of 16 bits.
pub fn wav(run: &Run) -> Result<Vec<u8>, Error> {
    if run.heard.is_empty() {
        let after_s = run.after.at_s - run.hand_over_s;
        return Err(Error::rule(say!("app-nothing-heard", ends = number(after_s, 1))));
    }
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE_HZ,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut file = Cursor::new(Vec::new());
    let written = hound::WavWriter::new(&mut file, spec).and_then(|mut w| {
        let left = |k: usize| (run.heard.len() - k).min(FADE) as f64 / FADE as f64;
        for (k, x) in run.heard.iter().enumerate() {
            w.write_sample((f64::from(*x) * left(k)).round() as i16)?;
        }
        w.finalize()
    });
    written.map_err(|e| Error::File(say!("app-sound-not-made", why = e.to_string())))?;
    Ok(file.into_inner())
}
