//! The flight against a second solution of the same published law, written
//! here in another way: the equations as printed (sources.md 7.2, 7.3; status M
//! for the constants), vectors in the ground's frame, the spin as a vector, a
//! fixed step of the classical fourth order, and the landing by bisection of
//! the last step. Start at `two_solutions_of_the_same_law_land_together`.

use chalkface_core::flight::{Air, Conditions, FiveConstantLaw, Flier, Launch, Motion};

type V = [f64; 3];

const MASS: f64 = 0.04593;
const RADIUS: f64 = 0.021_336;

fn dot(a: V, b: V) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn cross([a, b, c]: V, [x, y, z]: V) -> V {
    [b * z - c * y, c * x - a * z, a * y - b * x]
}

fn plus(a: V, k: f64, b: V) -> V {
    std::array::from_fn(|i| a[i] + k * b[i])
}

/// Place, velocity, spin.
type State = [V; 3];

fn step_by(s: State, k: f64, d: State) -> State {
    std::array::from_fn(|i| plus(s[i], k, d[i]))
}

fn rates([_, v, w]: State, law: &FiveConstantLaw, conditions: &Conditions) -> State {
    let rho = conditions.air.density_kgpm3;
    let r = plus(v, -1.0, [conditions.tail_wind_mps, 0.0, conditions.cross_wind_mps]);
    let speed = dot(r, r).sqrt();
    let side = cross(w, r);
    let across = dot(side, side).sqrt();
    let spin_ratio = RADIUS * across / (speed * speed);
    let reynolds = (2.0 * RADIUS * speed * rho / conditions.air.viscosity_pas).clamp(5e4, 2.1e5);
    let wave = (std::f64::consts::PI * (reynolds - 9e4) / 2e5).sin();
    let drag = law.cd1 + law.cd2 * spin_ratio + law.cd3 * wave;
    let lift = law.cl1 * spin_ratio.powf(0.4);
    let k = rho * std::f64::consts::PI * RADIUS * RADIUS / (2.0 * MASS);
    let mut a = plus([0.0, -9.80665, 0.0], -k * speed * drag, r);
    a = plus(a, k * speed * speed * lift / across, side);
    [v, a, plus([0.0; 3], -law.decay * speed / RADIUS, w)]
}

fn step(s: State, h: f64, f: &impl Fn(State) -> State) -> State {
    let a = f(s);
    let b = f(step_by(s, h / 2.0, a));
    let c = f(step_by(s, h / 2.0, b));
    let d = f(step_by(s, h, c));
    let mut out = step_by(s, h / 6.0, a);
    out = step_by(out, h / 3.0, b);
    out = step_by(out, h / 3.0, c);
    step_by(out, h / 6.0, d)
}

/// Carry, lateral, apex and time of a flight over level ground.
fn reference(ball: &Motion<f64>, law: &FiveConstantLaw, conditions: &Conditions) -> [f64; 4] {
    let f = |s| rates(s, law, conditions);
    let (v, w) = (ball.velocity, ball.spin);
    let mut s = [[0.0; 3], [v.x, v.y, v.z], [w.x, w.y, w.z]];
    let (mut time, mut apex, h) = (0.0, 0.0_f64, 2e-3);
    loop {
        let next = step(s, h, &f);
        if next[0][1] < 0.0 {
            let (mut low, mut high) = (0.0, h);
            for _ in 0..50 {
                let middle = 0.5 * (low + high);
                if step(s, middle, &f)[0][1] > 0.0 { low = middle } else { high = middle }
            }
            let [x, _, z] = step(s, low, &f)[0];
            return [x, z, apex, time + low];
        }
        s = next;
        time += h;
        apex = apex.max(s[0][1]);
    }
}

#[test]
fn two_solutions_of_the_same_law_land_together() {
    let mut seed = 99_u64;
    let mut draw = |low: f64, high: f64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((seed >> 11) as f64 / (1_u64 << 53) as f64)
    };
    let mut worst = [0.0_f64; 4];
    for i in 0..200 {
        let law = if i % 2 == 0 { FiveConstantLaw::ODS_FIT } else { FiveConstantLaw::SMITS_SMITH_1994 };
        let conditions = Conditions {
            air: Air { density_kgpm3: draw(0.95, 1.3), ..Air::STANDARD },
            tail_wind_mps: draw(-8.0, 8.0),
            cross_wind_mps: draw(-6.0, 6.0),
            ..Conditions::default()
        };
        let launch = Launch {
            ball_speed_mps: draw(35.0, 82.0),
            launch_deg: draw(3.0, 25.0),
            start_deg: draw(-10.0, 10.0),
            backspin_rpm: draw(800.0, 5000.0),
            sidespin_rpm: draw(-1500.0, 1500.0),
            rifle_rpm: 0.0,
        };
        let got = Flier::new(&law, &conditions).unwrap().fly(&launch).unwrap();
        let want = reference(&Motion::from(&launch), &law, &conditions);
        let got = [got.carry_m, got.lateral_m, got.apex_m, got.time_s];
        for ((worst, got), want) in worst.iter_mut().zip(got).zip(want) {
            *worst = worst.max((got - want).abs());
        }
    }
    // Carry, lateral and apex within a centimetre, time within a millisecond.
    assert!(worst[..3].iter().all(|e| *e < 0.01) && worst[3] < 1e-3, "{worst:?}");
}
