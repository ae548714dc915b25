//! Diagnostic testers in a class: each seat's module on the network, at a port of its own.
//!
//! *Inside*: the port of each seat, opening it with an attempt and closing it after, who may connect. *Outside*: the
//! traffic on a connection ([`crate::net`]), attempts ([`super::seat`]).
//!
//! DoIP without its secured variant has no password. A port therefore accepts testers only from the address at which
//! the seat's page is open: a trainee's program reaches that trainee's car. Trainees behind one NAT router share an
//! address.

use super::seat::{Attempt, Seat};
use crate::app::terminal::tell;
use crate::net::car;
use crate::net::server::{Bound, Running};
use crate::session::live::{Live, Order};
use crate::words::say;
use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};

/// The seats' ports.
#[derive(Debug)]
pub struct Testers {
    first: SocketAddr,
    open: Mutex<BTreeMap<u32, Open>>,
}

/// A port that was opened for an attempt; it has no server if the port could not be opened.
#[derive(Debug)]
struct Open {
    attempt: Arc<Attempt>,
    running: Option<Running>,
}

/// A seat's car, in the form that the network room needs.
struct OfSeat {
    seat: Arc<Seat>,
    attempt: Arc<Attempt>,
}

impl car::Seat for OfSeat {
    fn live(&self) -> &Live {
        &self.attempt.live
    }
    fn order_then(&self, order: Order, then: car::Then) -> bool {
        self.seat.was_at_work();
        self.attempt.order_then(order, then)
    }
    fn admits(&self, tester: IpAddr) -> bool {
        let page = self.seat.state().page.as_ref().map(|p| p.from.to_canonical());
        page == Some(tester.to_canonical())
    }
    fn is_manned(&self) -> bool {
        true
    }
}

impl Testers {
    /// The first seat's module answers at this address, those of the next seats at the following ports.
    pub fn new(first: SocketAddr) -> Self {
        Self { first, open: Mutex::default() }
    }

    /// The address for a seat; none beyond the last port.
    fn address(&self, seat: u32) -> Option<SocketAddr> {
        let port = u32::from(self.first.port()).checked_add(seat.checked_sub(1)?)?;
        Some(SocketAddr::new(self.first.ip(), u16::try_from(port).ok()?))
    }

    /// Closes ports of ended attempts, opens those of newly handed-over cars; returns the seats that changed.
    pub fn follow(&self, seats: &[Arc<Seat>]) -> Vec<Arc<Seat>> {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.retain(|id, _| seats.iter().any(|s| s.id == *id));
        let mut changed = Vec::new();
        for seat in seats {
            let attempt = seat.attempt().filter(|a| a.live.conditioning().is_none());
            let same = match (&attempt, open.get(&seat.id)) {
                (Some(a), Some(o)) => Arc::ptr_eq(a, &o.attempt),
                (None, None) => true,
                _ => false,
            };
            if same {
                continue;
            }
            // the port must be free before the next attempt uses it
            open.remove(&seat.id);
            if let Some(attempt) = attempt {
                let running = self.begin(seat, &attempt);
                open.insert(seat.id, Open { attempt, running });
            }
            let port = open.get(&seat.id).and_then(|o| o.running.as_ref()).map(|r| r.at().port());
            let mut state = seat.state();
            if state.tester_port != port {
                state.tester_port = port;
                changed.push(Arc::clone(seat));
            }
        }
        changed
    }

    /// Opens a seat's port; the reason for a failure is reported once.
    fn begin(&self, seat: &Arc<Seat>, attempt: &Arc<Attempt>) -> Option<Running> {
        let at = self.address(seat.id)?;
        let of: Arc<dyn car::Seat> =
            Arc::new(OfSeat { seat: Arc::clone(seat), attempt: Arc::clone(attempt) });
        match Bound::take(at).and_then(|bound| Running::begin(bound, of, seat.id)) {
            Ok(running) => running,
            Err(e) => {
                tell(&say!("net-cannot-listen", address = at.to_string(), why = e.to_string()));
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_ports_follow_the_seats_number() {
        let at = |first: u16, seat| {
            Testers::new(SocketAddr::from(([127, 0, 0, 1], first))).address(seat).map(|a| a.port())
        };
        assert_eq!(
            [at(13_400, 1), at(13_400, 12), at(65_535, 1)],
            [Some(13_400), Some(13_411), Some(65_535)]
        );
        assert_eq!([at(13_400, 0), at(65_535, 2), at(1, u32::MAX)], [None; 3]);
    }
}
