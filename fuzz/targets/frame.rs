//! What comes over a socket to the module: split into frames, through a connection, to the services of a bench, without a
//! socket. The first byte says in what pieces it comes. Frames come out alike in any pieces and are written again as the
//! same; a connection keeps no more than a frame, and no answer is longer than the longest message.
#![no_main]

use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key};
use idlewright::bench::setup::Setup;
use idlewright::net::car::OnBench;
use idlewright::net::doip::{Fault, Frame, Framer, payload};
use idlewright::net::link::{Effect, Link, activation};
use idlewright::net::uds::{Reply, Request, Server};
use idlewright::store;
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;
use std::time::Duration;

/// Most that a connection keeps \[bytes\]: header, two addresses, the longest message.
const MOST: usize = 8 + 4 + 4095;

static AWAKE: LazyLock<Bench> = LazyLock::new(|| {
    let mut bench = Bench::standing(&Setup::healthy(store::CARS[0].1, 4, 88.0)).expect("a bench");
    let _ = bench.act("", Action::Key(Key::On));
    bench.advance_by(2.0);
    bench
});

fn frames(bytes: &[u8], piece: usize) -> Vec<Result<Frame, (u8, Fault)>> {
    let (mut framer, mut all) = (Framer::default(), Vec::new());
    for part in bytes.chunks(piece) {
        framer.push(part, &mut |frame| all.push(frame));
        assert!(framer.holds() <= MOST, "{} bytes are kept", framer.holds());
    }
    all
}

fuzz_target!(|bytes: &[u8]| {
    let Some((first, bytes)) = bytes.split_first() else { return };
    let piece = usize::from(*first).max(1);
    let all = frames(bytes, piece);
    assert_eq!(all, frames(bytes, bytes.len().max(1)), "in pieces of {piece}");
    for frame in all.iter().flatten() {
        assert_eq!(Frame::of_datagram(&frame.bytes()).as_ref(), Ok(frame));
    }
    let _ = Frame::of_datagram(bytes);
    let mut now = Duration::from_secs(1);
    let mut link = Link::new(now);
    let ask = Frame::new(2, payload::ACTIVATE, vec![0x0E, 0x00, 0, 0, 0, 0, 0]).bytes();
    let _ = link.feed(&ask, now, true);
    let _ = link.settled(0x0E00, 2, activation::DONE, now);
    let (mut bench, mut server) = (AWAKE.clone(), Server::new(u32::from(*first)));
    for part in bytes.chunks(piece) {
        now += Duration::from_millis(7);
        for effect in link.feed(part, now, true) {
            let Effect::Request { source, functional, data, .. } = effect else { continue };
            let asked = Request { from: source, functional, data: &data };
            if let Reply::Bytes(answer) = server.answer(&mut OnBench::new(&mut bench), &asked, now) {
                assert!((1..=4095).contains(&answer.len()), "{} bytes of an answer", answer.len());
            }
        }
        assert!(link.holds() <= MOST, "{} bytes are kept", link.holds());
    }
});
