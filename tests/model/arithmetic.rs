//! Arithmetic that takes a shorter way, held bit for bit against the long one.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use idlewright::num::{self, Cubic, Stream, Table};

/// Ticks of a timer come from whatever a time was added up to: halves and their neighbours, and anything between.
#[test]
fn same_whole_as_by_rounding() {
    let mut s = Stream::new(1, "whole");
    let halves = (0..2000).map(|i| f64::from(i) * 0.5);
    let near = halves.flat_map(|x: f64| [x.next_down(), x, x.next_up(), -x]);
    let drawn =
        (0..20_000).map(|_| 1e12 * s.uniform()).chain([0.5_f64.next_down(), 2.0e15, f64::NAN, -1e300]);
    for x in near.chain(drawn) {
        assert_eq!(num::whole(x), x.round().max(0.0) as u64, "{x:?}");
    }
}

#[test]
fn same_wrapped_as_by_remainder() {
    let mut s = Stream::new(1, "wrapped");
    let ends = [-0.0, 0.0, 720.0, 1440.0, -720.0, f64::NAN]
        .into_iter()
        .flat_map(|x: f64| [x.next_down(), x, x.next_up()]);
    let drawn = (0..20_000).map(|_| 5000.0 * (s.uniform() - 0.5));
    for x in ends.chain(drawn) {
        let (short, long) = (num::wrapped(x, 720.0), x.rem_euclid(720.0));
        assert!(short.to_bits() == long.to_bits() || x.is_nan() && short.is_nan(), "{x:?}: {short:?}");
    }
}

/// More pairs than are kept, asked for again and again and in another order: nobody gets the share of another.
#[test]
fn same_share_kept_or_not() {
    let mut s = Stream::new(1, "share");
    let mut pairs: Vec<[f64; 2]> = (0..1000).map(|_| [0.02 * s.uniform(), 3.0 * s.uniform()]).collect();
    pairs.extend([[0.01, 0.0], [0.01, -1.0], [0.0, 1.0], [0.0, 0.0], [-0.0, 1.0], [600.0, 1.5]]);
    for round in 0..4 {
        for [dt_s, tau_s] in &pairs {
            let plain = if *tau_s <= 0.0 { 1.0 } else { 1.0 - num::exp(-*dt_s / *tau_s) };
            let kept = num::lag_share(*dt_s, *tau_s);
            assert_eq!(kept.to_bits(), plain.to_bits(), "round {round}: {dt_s} s, {tau_s} s");
        }
        pairs.reverse();
    }
}

/// Tabulated functions against the library's, within the bounds that they state.
#[test]
fn exact_tabulated_functions_within_their_bounds() {
    let mut worst = 0.0_f64;
    for i in 0..64_000 {
        let x = 0.0005 * f64::from(i);
        worst = worst.max((num::decay(x) / num::exp(-x) - 1.0).abs());
    }
    println!("decay: off by {worst:.1e} of itself");
    assert!(worst < 1e-7, "{worst}");
    assert_eq!((num::decay(32.0), num::decay(1e9), num::decay(f64::INFINITY)), (0.0, 0.0, 0.0));
    let root = Cubic::new((0.5, 1.0), 128, |x| (x.sqrt(), 0.5 / x.sqrt()));
    let off = |x: f64| (root.at(x) - x.sqrt()).abs();
    let worst = (0..=10_000).map(|i| off(0.5 + 5e-5 * f64::from(i))).fold(0.0, f64::max);
    // h⁴/384 of the fourth derivative, 15/16 x^-3.5
    let bound = num::pow(0.5 / 128.0, 4.0) / 384.0 * 15.0 / 16.0 * num::pow(0.5, -3.5);
    assert!(worst < 1.05 * bound, "{worst:.2e}, bound {bound:.2e}");
}

/// Linear between the pairs that enclose a value, the end values beyond: written out pair by pair.
#[test]
fn same_table_as_written_out() {
    let way = |p: &[[f64; 2]], x: f64| {
        if x <= p[0][0] {
            return p[0][1];
        }
        for i in 1..p.len() {
            if x < p[i][0] {
                let slope = (p[i][1] - p[i - 1][1]) / (p[i][0] - p[i - 1][0]);
                return p[i - 1][1] + (x - p[i - 1][0]) * slope;
            }
        }
        p[p.len() - 1][1]
    };
    let rising = vec![[-3.0, 0.4], [-1.0, 0.9], [0.0, 1.0], [2.5, 4.7], [7.0, 4.9]];
    let falling: Vec<[f64; 2]> = rising.iter().map(|[x, y]| [*x, -*y]).collect();
    for points in [rising, falling, vec![[1.0, 2.0]]] {
        let table = Table::try_from(points.clone()).expect("x rises");
        let mut by_value: Vec<[f64; 2]> = points.iter().map(|[x, y]| [*y, *x]).collect();
        if by_value.len() > 1 && by_value[0][0] > by_value[1][0] {
            by_value = by_value.iter().map(|[y, x]| [-*y, *x]).collect();
        }
        let sign = if points.len() > 1 && points[0][1] > points[1][1] { -1.0 } else { 1.0 };
        for i in -400..400 {
            let x = 0.025 * f64::from(i);
            assert_eq!(table.at(x).to_bits(), way(&points, x).to_bits(), "at {x}");
            // turned round, a falling table is searched like a rising one
            assert_eq!(table.inverse_at(x).to_bits(), way(&by_value, sign * x).to_bits(), "back from {x}");
        }
    }
}
