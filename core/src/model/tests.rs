//! Every record survives its fields, and lacking fields are refused by name.

use super::quantity::*;
use super::*;
use uuid::Uuid;

fn id(n: u8) -> RecordId {
    RecordId(Uuid::from_bytes([n; 16]))
}

fn survives<R: Record + PartialEq + std::fmt::Debug>(record: &R) {
    let mut bytes = Vec::new();
    record.to_fields().encode(&mut bytes);
    let fields = Fields::decode(&mut minicbor::Decoder::new(&bytes)).unwrap();
    assert_eq!(R::from_fields(&fields).as_ref(), Ok(record));
}

fn day() -> Day {
    Day::parse("2026-04-30").unwrap()
}

#[test]
fn every_record_survives_its_fields() {
    let mut student = Student::new(Name::new("Ása").unwrap(), Hand::Left);
    student.birth_year = Some(BirthYear::new(1990).unwrap());
    student.target = Some(Target::new(-2.0, 8.0, 10.0).unwrap());
    student.baseline_until = Some(day());
    student.units = UnitSystem::Imperial;
    survives(&student);
    survives(&Coach { name: Name::new("Bo").unwrap(), person: Some(PersonId(id(3).0)) });
    let mut club = Club::named(Name::new("Driver").unwrap());
    club.loft_deg = Some(Loft::new(10.5).unwrap());
    club.inertia_up_gcm2 = Some(Inertia::new(5679.0).unwrap());
    survives(&club);
    survives(&Session {
        name: Name::new("Tuesday").unwrap(),
        day: day(),
        place: Some(Place::Range),
        ball: Some(Ball::Range),
        powder: Some(true),
        club: Some(id(9)),
    });
    let mut shot = Shot::of(id(1));
    shot.mark = Some(StrikeMark::new(-12.5, 3.25, None, MarkRead::Photo).unwrap());
    shot.start_by_eye = Some(StartByEye::FarLeft);
    shot.curve_by_eye = Some(CurveByEye::Right);
    shot.readings.head_speed =
        Some(Reading { value: HeadSpeed::new(44.704).unwrap(), sigma: Some(Sigma::new(0.4).unwrap()) });
    shot.readings.dynamic_loft = Some(Reading { value: DynamicLoft::new(14.2).unwrap(), sigma: None });
    shot.readings.curve = Some(Reading { value: Curve::new(-7.5).unwrap(), sigma: None });
    shot.finish_held = Some(false);
    shot.guess = Some(Guess { toe_mm: Toe::new(-8.5).unwrap(), high_mm: High::new(2.0).unwrap() });
    shot.practice = Some(id(9));
    shot.trial = Some(TrialBall { trial: id(8), ball: BallNo::new(16).unwrap() });
    survives(&shot);
    survives(&SpeedSwing {
        session: None,
        day: day(),
        side: SwingSide::Other,
        head_speed: HeadSpeed::new(38.0).unwrap(),
        source: SpeedSource::Radar,
        planned: Some(id(7)),
    });
    survives(&Pain { day: day(), note: Some(Remark::new("Low back").unwrap()), cleared: Some(day()) });
    survives(&Drill {
        name: Name::new("Held finish").unwrap(),
        purpose: Some(Purpose::ContactScatter),
        how: Some(Remark::new("Hold.\nCount to three.").unwrap()),
        stock: Some(StockDrill::HeldFinish),
        effort: Some(Effort::Normal),
        two_sided: true,
        equipment: Some(Remark::new("A driver").unwrap()),
        log: Some(Remark::new("Finishes").unwrap()),
        care: Some(Remark::new("Look round").unwrap()),
        goal: Some(Goal::FinishHeld),
    });
    survives(&Plan {
        aim: Name::new("Higher").unwrap(),
        from: day(),
        until: None,
        speed: SpeedLimits { a_day: Some(Count::new(12).unwrap()), ..SpeedLimits::default() },
    });
    survives(&PlannedDrill {
        plan: id(1),
        drill: id(2),
        dose: Dose::new(3, 10, 2).unwrap(),
        order: Order::new(1.5).unwrap(),
        note: None,
        since: Some(day()),
    });
    survives(&Practice {
        planned: id(4),
        day: day(),
        sets: Count::new(3).unwrap(),
        repetitions: Count::new(28).unwrap(),
        note: Some(Remark::new("Good.").unwrap()),
        good: Some(Count::new(14).unwrap()),
        tries: Some(Count::new(20).unwrap()),
        session: Some(id(5)),
        under_way: None,
    });
    survives(&Note { day: day(), text: Remark::new("Tee it higher.").unwrap(), about: Some(id(1)) });
}

#[test]
fn where_a_student_is_in_a_drill_survives_its_fields() {
    let step = |n| StepNo::new(n).unwrap();
    let count = |n| Count::new(n).unwrap();
    survives(&Practice {
        under_way: Some(UnderWay {
            begun_ms: 1_777_000_000_123,
            ended_ms: Some(1_777_000_600_000),
            step: step(4),
            a_set: count(6),
            in_set: count(3),
            rest_until_ms: Some(1_777_000_120_000),
            balls: count(9),
            at_step: [(step(3), count(9)), (step(4), count(8))].into(),
            last: Some(LastCount {
                step: step(4),
                repetition: true,
                good: Some(false),
                in_set: count(2),
                shot: Some(id(6)),
            }),
        }),
        ..Practice::of(id(4), day(), count(2), count(17))
    });
}

#[test]
fn a_record_without_a_needed_field_is_refused_by_that_fields_name() {
    assert_eq!(Shot::from_fields(&Fields::new()).unwrap_err().field, "session");
    assert_eq!(Session::from_fields(&Fields::new()).unwrap_err().field, "name");
}

#[test]
fn an_invalid_record_can_not_come_in_through_json() {
    let good = serde_json::to_value(StrikeMark::new(1.0, 2.0, None, MarkRead::Tap).unwrap()).unwrap();
    let mut bad = good.clone();
    bad["toe_mm"] = 90.into();
    assert!(serde_json::from_value::<StrikeMark>(good).is_ok());
    assert!(serde_json::from_value::<StrikeMark>(bad).unwrap_err().to_string().contains("Equipment Rules"));
    assert!(serde_json::from_str::<Dose>("[0, 10, 2]").is_err());
    assert!(serde_json::from_str::<Count>("-1").is_err());
}
