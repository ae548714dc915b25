//! Throughput of a warm idle, as simulated seconds per second: `cargo bench --bench idle`.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key};
use idlewright::bench::setup::Setup;
use std::hint::black_box;

fn warm(step_deg: f64) -> Bench {
    let setup = Setup { step_deg, ..Setup::healthy(idlewright::store::CARS[0].1, 1, 90.0) };
    let mut b = Bench::standing(&setup).expect("the shipped car is good");
    let _ = b.act("", Action::Key(Key::On));
    b.advance_by(2.0);
    let _ = b.act("", Action::Key(Key::Crank));
    b.advance_by(30.0);
    b
}

fn idle(c: &mut Criterion) {
    let mut group = c.benchmark_group("warm idle, ten simulated seconds");
    // elements are simulated milliseconds: elements per second over 1000 is times real time
    group.throughput(Throughput::Elements(10_000));
    for step_deg in [2.0, 1.0, 0.5] {
        let mut b = warm(step_deg);
        group.bench_function(format!("plover, step {step_deg}°"), |bencher| {
            bencher.iter(|| {
                b.advance_by(10.0);
                black_box(b.time_s())
            });
        });
    }
    group.finish();
}

criterion_group!(benches, idle);
criterion_main!(benches);
