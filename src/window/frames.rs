//! How fast the window is drawn: frames are timed one by one and summed up.
//!
//! Frames are rendered into memory, and each one is waited for, so that neither a display nor its refresh rate limits
//! them. What remains is the time taken by the panels, the engine and the graphics card.

/// Frames to be timed.
#[derive(Debug, Clone, PartialEq)]
pub struct Frames {
    wanted: usize,
    took_ms: Vec<f64>,
}

impl Frames {
    /// Times this many frames, 1 at the least.
    pub fn new(wanted: u32) -> Self {
        let wanted = wanted.max(1) as usize;
        Self { wanted, took_ms: Vec::with_capacity(wanted) }
    }
    /// Adds a frame that took this long \[ms\]; true once all frames are in.
    pub fn add(&mut self, ms: f64) -> bool {
        if self.took_ms.len() < self.wanted {
            self.took_ms.push(ms);
        }
        self.took_ms.len() == self.wanted
    }
    /// Frames per second, mean frame time, and the frame time that one frame in a hundred exceeds \[1/s, ms, ms\].
    pub fn come_to(&self) -> (f64, f64, f64) {
        let mut sorted = self.took_ms.clone();
        sorted.sort_by(f64::total_cmp);
        let mean = sorted.iter().sum::<f64>() / sorted.len().max(1) as f64;
        let slow = sorted.get((sorted.len().max(1) - 1) * 99 / 100).copied().unwrap_or(0.0);
        (1e3 / mean.max(1e-9), mean, slow)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_what_frames_come_to() {
        let mut f = Frames::new(200);
        for k in 1..=199 {
            assert!(!f.add(f64::from(k)));
        }
        assert!(f.add(200.0) && f.add(1e9), "what comes later is not counted");
        let (per_s, mean, slow) = f.come_to();
        assert_eq!((mean, slow), (100.5, 198.0));
        assert!((per_s - 1e3 / 100.5).abs() < 1e-12);
    }
}
