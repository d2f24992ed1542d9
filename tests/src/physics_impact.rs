//! The impact against a second solution of the same equations (sources.md 7.1,
//! status D; parameters I6 and R1 to R3, status L, and 7.1), written here in
//! another way: everything in world axes for both hands, full matrices, and
//! Gauss's elimination. Start at `two_solutions_of_the_same_impact_agree`.

use chalkface_core::flight::{Club, Delivery, Face, Hand, impact};

type V = [f64; 3];
type M = [V; 3];

fn dot(a: V, b: V) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn cross([a, b, c]: V, [x, y, z]: V) -> V {
    [b * z - c * y, c * x - a * z, a * y - b * x]
}

fn plus(a: V, k: f64, b: V) -> V {
    std::array::from_fn(|i| a[i] + k * b[i])
}

fn times(m: M, v: V) -> V {
    m.map(|row| dot(row, v))
}

/// The matrix whose columns are `f` of the unit vectors.
fn matrix(f: impl Fn(V) -> V) -> M {
    let columns = [f([1.0, 0.0, 0.0]), f([0.0, 1.0, 0.0]), f([0.0, 0.0, 1.0])];
    std::array::from_fn(|i| std::array::from_fn(|j| columns[j][i]))
}

fn eliminate(mut m: M, mut b: V) -> V {
    for i in 0..3 {
        let pivot = (i..3).max_by(|&p, &q| m[p][i].abs().total_cmp(&m[q][i].abs())).unwrap();
        m.swap(i, pivot);
        b.swap(i, pivot);
        for j in i + 1..3 {
            let k = m[j][i] / m[i][i];
            m[j] = plus(m[j], -k, m[i]);
            b[j] -= k * b[i];
        }
    }
    for i in (0..3).rev() {
        for j in i + 1..3 {
            b[i] -= m[i][j] * b[j];
        }
        b[i] /= m[i][i];
    }
    b
}

/// Velocity and spin of the ball, and whether it slipped.
fn reference(club: &Club, hand: f64, mu: f64, d: &Delivery) -> (V, V, bool) {
    let (m, radius) = (0.04593, 0.021_336);
    let ball_inertia = 0.4 * m * radius * radius;
    let mass = club.head_mass_kg + club.shaft_share_kg;
    let (sin_l, cos_l) = d.loft_deg.to_radians().sin_cos();
    let (sin_f, cos_f) = d.face_deg.to_radians().sin_cos();
    let (sin_a, cos_a) = d.attack_deg.to_radians().sin_cos();
    let (sin_p, cos_p) = d.path_deg.to_radians().sin_cos();
    let n = [cos_l * cos_f, sin_l, cos_l * sin_f];
    let right = [-sin_f, 0.0, cos_f];
    let u = cross(right, n);
    let t = right.map(|x| hand * x);
    let (x, y) = (d.toe_mm / 1e3, d.high_mm / 1e3);
    let (bulge, roll) = (club.bulge_mm / 1e3, club.roll_mm / 1e3);
    let at = |a: f64, b: f64, c: f64| plus(plus(plus([0.0; 3], a, n), b, u), c, t);
    let point = at(-(x * x / (2.0 * bulge) + y * y / (2.0 * roll)), y, x);
    let lean = at(1.0, y / roll, x / bulge);
    let normal = lean.map(|a| a / dot(lean, lean).sqrt());
    let balance = at(-club.balance_depth_mm / 1e3, club.balance_up_mm / 1e3, club.balance_toe_mm / 1e3);
    let r_c = plus(point, -1.0, balance);
    let before = [cos_a * cos_p, sin_a, cos_a * sin_p].map(|a| -d.head_speed_mps * a);
    let u_n = dot(normal, before);
    let u_t = plus(before, -u_n, normal);
    let r_b = plus(normal.map(|a| -radius * a), club.ball_lag * radius / u_n.abs(), u_t);
    let head_turn = |moment: V| {
        let about = |axis: V, gcm2: f64| axis.map(|a| a * dot(axis, moment) / (gcm2 * 1e-7));
        let sum = plus(about(n, club.inertia_normal_gcm2), 1.0, about(u, club.inertia_up_gcm2));
        plus(sum, 1.0, about(t, club.inertia_toe_gcm2))
    };
    let k = matrix(|j| {
        let mut moved = j.map(|a| a * (1.0 / m + 1.0 / mass));
        moved = plus(moved, 1.0, cross(cross(r_b, j).map(|a| a / ball_inertia), r_b));
        plus(moved, 1.0, cross(head_turn(cross(r_c, j)), r_c))
    });
    let e = (club.restitution - club.restitution_fall_spm * (u_n.abs() - club.restitution_speed_mps))
        .clamp(0.5, 0.9);
    let wanted = plus(normal.map(|a| -e * u_n * a), -club.tangential_restitution, u_t);
    let mut j = eliminate(k, plus(wanted, -1.0, before));
    let j_n = dot(j, normal);
    let along = plus(j, -j_n, normal);
    let slipped = dot(along, along).sqrt() > mu * j_n;
    if slipped {
        let q = plus(normal, -mu / dot(u_t, u_t).sqrt(), u_t);
        let size = -(1.0 + e) * u_n / dot(normal, times(k, q));
        j = q.map(|a| a * size);
    }
    (j.map(|a| a / m), cross(r_b, j).map(|a| a / ball_inertia), slipped)
}

#[test]
fn two_solutions_of_the_same_impact_agree() {
    let mut seed = 5_u64;
    let mut draw = |low: f64, high: f64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((seed >> 11) as f64 / (1_u64 << 53) as f64)
    };
    let mut slips = 0;
    for i in 0..400 {
        let club = Club {
            balance_toe_mm: draw(-5.0, 5.0),
            // Slippery enough that about half of the balls slip.
            friction: if i % 2 == 0 { 0.40 } else { draw(0.01, 0.06) },
            ..Club::default()
        };
        let d = Delivery {
            head_speed_mps: draw(20.0, 60.0),
            loft_deg: draw(5.0, 40.0),
            face_deg: draw(-8.0, 8.0),
            path_deg: draw(-10.0, 10.0),
            attack_deg: draw(-8.0, 8.0),
            toe_mm: draw(-40.0, 40.0),
            high_mm: draw(-22.0, 22.0),
        };
        for (hand, sign) in [(Hand::Right, 1.0), (Hand::Left, -1.0)] {
            let got = impact(&club.conforming().unwrap(), hand, Face::Dry, &d).unwrap();
            let (v, w, slipped) = reference(&club, sign, club.friction, &d);
            let (gv, gw) = (got.ball.velocity, got.ball.spin);
            let off = |a: V, b: V| dot(plus(a, -1.0, b), plus(a, -1.0, b)).sqrt();
            assert!(off([gv.x, gv.y, gv.z], v) < 1e-10, "{d:?} {hand:?}");
            assert!(off([gw.x, gw.y, gw.z], w) < 1e-7, "{d:?} {hand:?}");
            assert_eq!(got.slipped, slipped);
            slips += usize::from(slipped);
        }
    }
    assert!((200..600).contains(&slips), "{slips} of 800 slipped");
}
