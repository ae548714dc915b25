use idlewright::bench::setup::Setup;
use idlewright::bench::survey::{self, Shadow};
const CAR: &str = include_str!("../assets/cars/plover.toml");
#[test]
fn probe() {
    let mut b = survey::warm(&Setup::healthy(CAR, 1, 90.0)).unwrap();
    survey::learn_wheel(&mut b).unwrap();
    let edges = b.ecm().s.store.wheel.edges_deg.clone();
    for (rpm, map) in [(3000.0, 85.0), (4000.0, 85.0), (5000.0, 70.0)] {
        let mut b = b.clone();
        let got = survey::hold(&mut b, Some(rpm), Some(map), 45.0);
        println!(
            "{rpm} -> {got:.1} kPa {:.0} lambda {:?} pedal {:.1} spark {:.1}",
            b.ecm().s.inputs.rpm,
            b.observe().trims,
            b.plant().s.hands.pedal_pct,
            b.ecm().live().spark_deg
        );
        let before: Vec<u64> = b.plant().s.accounts.iter().map(|a| a.misfires).collect();
        let mut sh = [Shadow::new(Some(&edges))];
        survey::watch(&mut b, 2000.0, &[0.0; 4], &mut sh);
        println!(
            "none swallowed: misfires {:?}",
            b.plant().s.accounts.iter().zip(&before).map(|(a, b)| a.misfires - b).collect::<Vec<_>>()
        );
        let before: Vec<u64> = b.plant().s.accounts.iter().map(|a| a.misfires).collect();
        let mut sh = [Shadow::new(Some(&edges))];
        survey::watch(&mut b, 2000.0, &[0.01; 4], &mut sh);
        println!(
            "1 %: misfires {:?} {:?}",
            b.plant().s.accounts.iter().zip(&before).map(|(a, b)| a.misfires - b).collect::<Vec<_>>(),
            sh[0].score
        );
    }
}
