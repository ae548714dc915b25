//! Random and mangled frames through framing, connection and services, without sockets: no panic, nothing that grows.
//! `IDLEWRIGHT_FRAMES=10000000 cargo test --no-default-features --features class --test class fuzz -- --nocapture`
//!
//! Half of the frames are whole requests with a few bytes changed, so that they get past the header; the rest are noise of
//! any length. What comes of them goes the way that it goes on a network: `Link`, then `Server`, then a bench.
#![expect(clippy::disallowed_methods, reason = "it tells how fast it was, and how much memory it held")]

use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key};
use idlewright::bench::setup::Setup;
use idlewright::net::car::OnBench;
use idlewright::net::doip::{Frame, payload};
use idlewright::net::link::{Effect, Link, activation};
use idlewright::net::security::key;
use idlewright::net::uds::{Reply, Request, Server};
use idlewright::store;
use std::time::{Duration, Instant};

/// Requests that frames are made from.
const SEEDS: &[&[u8]] = &[
    &[0x10, 0x03],
    &[0x10, 0x01],
    &[0x11, 0x01],
    &[0x14, 0xFF, 0xFF, 0xFF],
    &[0x19, 0x02, 0xFF],
    &[0x19, 0x04, 0x05, 0x07, 0x00, 0xFF],
    &[0x19, 0x06, 0x05, 0x07, 0x00, 0xFF],
    &[0x19, 0x0A],
    &[0x22, 0xF4, 0x0C],
    &[0x22, 0x22, 0x01, 0x21, 0x00, 0x23, 0x01, 0x24, 0x00],
    &[0x27, 0x01],
    &[0x27, 0x02, 0, 0, 0, 0],
    &[0x2E, 0x24, 0x00, 0x01, 0x02, 0x58],
    &[0x2E, 0x23, 0x01, b'D', b'9', b'D', b'-', b'H', b'D', b'H', b'-', b'8', b'R', b'4'],
    &[0x2F, 0x26, 0x01, 0x03, 0x00],
    &[0x31, 0x01, 0x03, 0x01],
    &[0x31, 0x01, 0x03, 0x14],
    &[0x31, 0x01, 0x03, 0x21, 0x03, 0x20],
    &[0x31, 0x03, 0x03, 0x11],
    &[0x3E, 0x00],
    &[0x3E, 0x80],
    &[0x01, 0x0C, 0x0D],
    &[0x02, 0x0C, 0x00],
    &[0x03],
    &[0x04],
    &[0x06, 0xA2],
    &[0x07],
    &[0x09, 0x02],
    &[0x0A],
];

/// A plain generator: the same frames for the same seed, whatever else the program draws.
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
    fn byte(&mut self) -> u8 {
        self.next() as u8
    }
}

/// A frame as somebody hostile or careless sends it.
fn frame(d: &mut Draws) -> Vec<u8> {
    if d.below(4) == 0 {
        let n = d.below(40);
        return (0..n).map(|_| d.byte()).collect();
    }
    let mut data = SEEDS[d.below(SEEDS.len())].to_vec();
    if data[..] == [0x27, 0x02, 0, 0, 0, 0] {
        data[2..].copy_from_slice(&key(d.next() as u32).to_be_bytes());
    }
    let target = [0x1000u16, 0x1000, 0x1000, 0xE000][d.below(4)].to_be_bytes();
    let kind = if d.below(20) == 0 { d.next() as u16 } else { payload::DIAGNOSTIC };
    let mut all = Frame::new(2, kind, [&[0x0E, 0x00], &target[..], &data].concat()).bytes();
    // mostly the request itself is changed, now and then the header too
    for _ in 0..d.below(4) {
        let from = if d.below(8) == 0 { 0 } else { 12 };
        let at = from + d.below(all.len() - from);
        match d.below(8) {
            0 => all.truncate(at.max(1)),
            1 => all.push(d.byte()),
            _ => all[at] = d.byte(),
        }
        if all.len() <= 12 {
            break;
        }
    }
    if d.below(3) > 0 && all.len() > 8 {
        // as long as the header says: most get through to a service
        let n = (all.len() - 8) as u32;
        all[4..8].copy_from_slice(&n.to_be_bytes());
    }
    all
}

/// Memory held \[MiB\], where the system tells it.
fn held() -> f64 {
    let pages = std::fs::read_to_string("/proc/self/statm").ok();
    let pages = pages.and_then(|s| s.split(' ').nth(1)?.parse::<f64>().ok());
    pages.unwrap_or(0.0) * 4096.0 / 1_048_576.0
}

fn benches() -> Vec<Bench> {
    ["plover", "dunlin", "whimbrel"]
        .iter()
        .flat_map(|name| {
            let text = store::car_text(name, None).expect("a car");
            let mut on = Bench::standing(&Setup::healthy(&text, 4, 88.0)).expect("a bench");
            let _ = on.act("", Action::Key(Key::On));
            on.advance_by(2.0);
            let mut idles = on.clone();
            let _ = idles.act("", Action::Key(Key::Crank));
            idles.advance_by(30.0);
            [on, idles]
        })
        .collect()
}

fn number(variable: &str) -> Option<u64> {
    std::env::var(variable).ok()?.parse().ok()
}

#[test]
fn holds_mangled_frames_harm_nothing() {
    let (frames, seed) =
        (number("IDLEWRIGHT_FRAMES").unwrap_or(100_000), number("IDLEWRIGHT_SEED").unwrap_or(1));
    let cars = benches();
    let mut d = Draws(seed);
    let (mut requests, mut answers, mut refusals, mut closed, mut most) = (0u64, 0u64, 0u64, 0u64, 0usize);
    let mut by_code = [0u64; 256];
    let (began, before) = (Instant::now(), held());
    let mut early = 0.0;
    let mut done = 0;
    while done < frames {
        // a fresh car now and then: its logbook is meant to grow with what is asked of it
        let mut bench = cars[(done / 20_000) as usize % cars.len()].clone();
        let mut server = Server::new(d.next() as u32);
        let mut now = Duration::from_secs(1);
        let mut link = fresh(now);
        for _ in 0..20_000.min(frames - done) {
            done += 1;
            now += Duration::from_millis(d.next() % 40);
            if d.below(50) == 0 {
                bench.advance_by(0.01);
            }
            if link.closed() || link.too_quiet(now) {
                closed += 1;
                link = fresh(now);
            }
            for effect in link.feed(&frame(&mut d), now, true) {
                let Effect::Request { source, functional, data, .. } = effect else { continue };
                requests += 1;
                let mut module = OnBench::new(&mut bench);
                let asked = Request { from: source, functional, data: &data };
                let reply = server.answer(&mut module, &asked, now);
                // now and then the right key, so that what needs it is reached
                if let Reply::Bytes(b) = &reply
                    && b[..2.min(b.len())] == [0x67, 0x01]
                    && d.below(2) == 0
                {
                    let seed = u32::from_be_bytes([b[2], b[3], b[4], b[5]]);
                    let sent = [&[0x27, 0x02], &key(seed).to_be_bytes()[..]].concat();
                    server.answer(
                        &mut module,
                        &Request { from: source, functional: false, data: &sent },
                        now,
                    );
                }
                if let Reply::Bytes(b) = reply {
                    most = most.max(b.len());
                    if b[0] == 0x7F {
                        refusals += 1;
                        by_code[usize::from(b[2])] += 1;
                    } else {
                        answers += 1;
                    }
                }
            }
            assert!(link.holds() <= 8 + 4 + 4095, "a connection keeps no more than a frame");
        }
        if done <= 200_000 {
            early = held();
        }
    }
    let seconds = began.elapsed().as_secs_f64();
    println!(
        "{done} frames in {seconds:.0} s ({:.0} a second): {requests} requests, {answers} answers, {refusals} refusals, {closed} connections ended, longest answer {most} bytes",
        done as f64 / seconds
    );
    let codes: Vec<String> =
        (0..256).filter(|k| by_code[*k] > 0).map(|k| format!("{k:02X} {}", by_code[k])).collect();
    println!("refused with {}", codes.join(", "));
    println!(
        "memory: {before:.1} MiB at the start, {early:.1} after the first of it, {:.1} at the end",
        held()
    );
}

/// A connection that is activated.
fn fresh(now: Duration) -> Link {
    let mut link = Link::new(now);
    let ask = Frame::new(2, payload::ACTIVATE, vec![0x0E, 0x00, 0, 0, 0, 0, 0]).bytes();
    let _ = link.feed(&ask, now, true);
    let _ = link.settled(0x0E00, 2, activation::DONE, now);
    link
}
