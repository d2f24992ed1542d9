//! Many shots at once: the same bits as one at a time, everywhere.

use super::super::batch::{fly_many, hit_many};
use super::*;

fn bits(f: &Flight) -> [u64; 7] {
    [f.carry_m, f.lateral_m, f.apex_m, f.time_s, f.landing_deg, f.landing_speed_mps, f.landing_spin_rpm]
        .map(f64::to_bits)
}

#[test]
fn a_batch_gives_the_same_bits_as_one_shot_at_a_time() {
    let head = driver();
    let law = FiveConstantLaw::ODS_FIT;
    let windy = Conditions { tail_wind_mps: -4.0, cross_wind_mps: 2.0, ..Conditions::default() };
    let flier = Flier::new(&law, &windy).unwrap();
    let mut variety = Variety::new(21);
    // Blocks of four and what remains.
    for count in [0, 1, 2, 3, 4, 5, 203] {
        let deliveries: Vec<_> = (0..count).map(|_| variety.delivery()).collect();
        for (hand, face) in [(Hand::Right, Face::Dry), (Hand::Left, Face::Powdered)] {
            let mut shots = vec![None; count];
            hit_many(&head, hand, face, &flier, &deliveries, &mut shots).unwrap();
            for (delivery, shot) in deliveries.iter().zip(&shots) {
                let one = hit(&head, hand, face, &flier, delivery).unwrap();
                let many = shot.unwrap();
                assert_eq!(one, many);
                assert_eq!(bits(&one.flight), bits(&many.flight), "{delivery:?}");
            }
        }
    }
}

#[test]
fn launches_flown_together_give_the_same_bits_as_alone() {
    let law = FiveConstantLaw::SMITS_SMITH_1994;
    let flier = still_air(&law);
    let mut variety = Variety::new(22);
    let launches: Vec<_> = (0..101).map(|_| variety.launch()).collect();
    let mut flights = vec![None; launches.len()];
    fly_many(&flier, &launches, &mut flights).unwrap();
    for (launch, flight) in launches.iter().zip(&flights) {
        assert_eq!(bits(&flier.fly(launch).unwrap()), bits(&flight.unwrap()));
    }
}

#[test]
fn the_bits_are_the_same_on_every_device() {
    // FNV-1a over the bits of 300 shots, as first computed on x86_64. A device
    // or compiler that rounds or fuses otherwise gives another number.
    let head = driver();
    let law = FiveConstantLaw::ODS_FIT;
    let flier = still_air(&law);
    let mut variety = Variety::new(23);
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for _ in 0..300 {
        let shot = hit(&head, Hand::Right, Face::Dry, &flier, &variety.delivery()).unwrap();
        let launch = [shot.launch.ball_speed_mps, shot.launch.start_deg, shot.launch.sidespin_rpm];
        for word in bits(&shot.flight).into_iter().chain(launch.map(f64::to_bits)) {
            for byte in word.to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
            }
        }
    }
    assert_eq!(hash, 0xaad6_f2e7_aba8_bdb2, "{hash:#x}");
}

#[test]
fn an_impossible_delivery_among_many_is_named_by_its_row() {
    let head = driver();
    let law = FiveConstantLaw::ODS_FIT;
    let flier = still_air(&law);
    let mut deliveries = vec![standard(); 9];
    deliveries[6].toe_mm = 90.0;
    let mut shots = vec![None; 9];
    let said = hit_many(&head, Hand::Right, Face::Dry, &flier, &deliveries, &mut shots).unwrap_err();
    assert!(matches!(&said, FlightError::Row { row: 6, .. }), "{said}");
    assert!(said.to_string().contains("shot 6") && said.to_string().contains("63.5"), "{said}");
    let short = hit_many(&head, Hand::Right, Face::Dry, &flier, &deliveries, &mut shots[..3]);
    assert!(matches!(short, Err(FlightError::Room { shots: 9, room: 3 })));
    let mut flights = vec![None; 1];
    let launch = Launch::from(&Motion::from(&Launch {
        ball_speed_mps: 60.0,
        launch_deg: 85.0,
        start_deg: 0.0,
        backspin_rpm: 0.0,
        sidespin_rpm: 0.0,
        rifle_rpm: 0.0,
    }));
    assert!(matches!(fly_many(&flier, &[launch], &mut flights), Err(FlightError::Row { row: 0, .. })));
}
