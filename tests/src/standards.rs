//! Published vectors beside what the core makes of the same input.
//!
//! Each test names its source and that source's status. Start anywhere: they
//! stand alone.

use chalkface_core::book::Book;
use chalkface_core::model::ids::Minter;
use chalkface_core::model::{Day, Fields, Moment, Name, Now, Role, Value};
use chalkface_core::sync::Body;
use sha2::{Digest, Sha256};

/// Bytes written as in the standards: hexadecimal, blanks ignored.
fn hex(text: &str) -> Vec<u8> {
    let digits: Vec<u32> = text.chars().filter_map(|c| c.to_digit(16)).collect();
    digits.chunks(2).map(|pair| (pair[0] << 4 | pair[1]) as u8).collect()
}

/// The parts of a version 7 UUID: RFC 9562 section 5.7.
#[derive(Debug, PartialEq)]
struct Layout {
    unix_ts_ms: u64,
    ver: u8,
    rand_a: u16,
    var: u8,
    rand_b: u64,
}

fn layout(id: [u8; 16]) -> Layout {
    let bits = u128::from_be_bytes(id);
    Layout {
        unix_ts_ms: (bits >> 80) as u64,
        ver: (bits >> 76 & 0xf) as u8,
        rand_a: (bits >> 64 & 0xfff) as u16,
        var: (bits >> 62 & 0b11) as u8,
        rand_b: (bits & ((1 << 62) - 1)) as u64,
    }
}

// RFC 9562, appendix A.6 (Proposed Standard, May 2024): Tuesday, February 22,
// 2022 2:22:22.00 PM GMT-05:00 is 0x017F22E279B0.
const EXAMPLE: &str = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F";
const EXAMPLE_MS: i64 = 0x017F_22E2_79B0;

#[test]
fn identities_have_the_layout_that_rfc_9562_appendix_a_6_shows() {
    let published = layout(hex(EXAMPLE).try_into().unwrap());
    let parts = Layout {
        unix_ts_ms: 0x017F_22E2_79B0,
        ver: 7,
        rand_a: 0xCC3,
        var: 0b10,
        rand_b: 0b01 << 60 | 0x8C4_DC0C_0C07_398F & ((1 << 60) - 1),
    };
    assert_eq!(published, parts);

    let at = Moment { utc_ms: EXAMPLE_MS, offset_min: -300 };
    let mut minter = Minter::new(Now { at, entropy: [9; 16] });
    for count in 0..4096 {
        let ours = layout(minter.mint().into_bytes());
        assert_eq!(
            (ours.unix_ts_ms, ours.ver, ours.var),
            (published.unix_ts_ms, published.ver, published.var)
        );
        // Section 6.2, method 1: here a counter of twelve bits from 0.
        assert_eq!(ours.rand_a, count);
    }
    // The counter is used up: section 6.2 lets an implementation run ahead in time.
    let next = layout(minter.mint().into_bytes());
    assert_eq!((next.unix_ts_ms, next.rand_a), (published.unix_ts_ms + 1, 0));
}

#[test]
fn the_time_in_the_published_identity_is_that_local_day_and_hour() {
    let at = Moment { utc_ms: EXAMPLE_MS, offset_min: -300 };
    assert_eq!(at.local_day().to_string(), "2022-02-22");
    let local_ms = (EXAMPLE_MS - 300 * 60_000).rem_euclid(86_400_000);
    assert_eq!(local_ms, ((14 * 60 + 22) * 60 + 22) * 1000);
    // Nine hours and 38 minutes later it is the next day there, not before.
    let midnight_ms = EXAMPLE_MS + ((9 * 60 + 37) * 60 + 38) * 1000;
    assert_eq!(Moment { utc_ms: midnight_ms - 1, ..at }.local_day().to_string(), "2022-02-22");
    assert_eq!(Moment { utc_ms: midnight_ms, ..at }.local_day().to_string(), "2022-02-23");
}

/// The bytes of one value, as field 1 of a change's body.
fn written(value: Value) -> Vec<u8> {
    let fields: Fields = [(1, value)].into_iter().collect();
    let bytes = Body { fields, replaces: Vec::new() }.encode();
    // An array of one map of one pair, whose key is 1.
    assert_eq!(bytes[..3], [0x81, 0xa1, 0x01]);
    bytes[3..].to_vec()
}

/// The value that stands in these bytes.
fn read(bytes: &[u8]) -> Value {
    let whole: Vec<u8> = [0x81, 0xa1, 0x01].iter().chain(bytes).copied().collect();
    Body::decode(&whole).unwrap().fields.raw(1).unwrap().clone()
}

// RFC 8949, appendix A (Internet Standard STD 94, December 2020): diagnostic
// notation and encoded bytes.
#[test]
fn values_are_the_bytes_that_rfc_8949_appendix_a_shows() {
    let number = |n: f64| Value::Number(n);
    let text = |t: &str| Value::Text(t.into());
    let published = [
        (number(0.0), "00"),
        (number(1.0), "01"),
        (number(10.0), "0a"),
        (number(23.0), "17"),
        (number(24.0), "1818"),
        (number(25.0), "1819"),
        (number(100.0), "1864"),
        (number(1000.0), "1903e8"),
        (number(1_000_000.0), "1a000f4240"),
        (number(1_000_000_000_000.0), "1b000000e8d4a51000"),
        (number(-1.0), "20"),
        (number(-10.0), "29"),
        (number(-100.0), "3863"),
        (number(-1000.0), "3903e7"),
        (number(1.0e300), "fb7e37e43c8800759c"),
        (Value::Bool(false), "f4"),
        (Value::Bool(true), "f5"),
        (Value::Null, "f6"),
        (Value::Bytes(vec![]), "40"),
        (Value::Bytes(vec![1, 2, 3, 4]), "4401020304"),
        (text(""), "60"),
        (text("a"), "6161"),
        (text("IETF"), "6449455446"),
        (text("\"\\"), "62225c"),
        (text("\u{fc}"), "62c3bc"),
        (text("\u{6c34}"), "63e6b0b4"),
        (text("\u{10151}"), "64f0908591"),
    ];
    for (value, bytes) in published {
        assert_eq!(written(value.clone()), hex(bytes), "{value:?}");
        assert_eq!(read(&hex(bytes)), value, "{bytes}");
    }
}

// RFC 8949, section 3.4.4 (STD 94): 273.15 as a decimal fraction.
#[test]
fn a_decimal_fraction_is_the_bytes_that_rfc_8949_section_3_4_4_shows() {
    assert_eq!(written(Value::Number(273.15)), hex("c4 82 21 19 6ab3"));
    assert_eq!(read(&hex("c4 82 21 19 6ab3")), Value::Number(273.15));
}

// RFC 8949, appendix A (STD 94): forms that the core does not write.
#[test]
fn published_forms_that_are_not_ours_travel_on_unread() {
    let published = [
        "1bffffffffffffffff",         // 18446744073709551615: beyond an exact double
        "3bffffffffffffffff",         // -18446744073709551616
        "fb3ff199999999999a",         // 1.1 as a double: ours is a decimal fraction
        "f93c00",                     // 1.0 as a half
        "fa47c35000",                 // 100000.0 as a single
        "f97c00",                     // Infinity
        "f97e00",                     // NaN
        "f7",                         // undefined
        "f0",                         // simple(16)
        "c11a514b67b0",               // 1(1363896240)
        "c249010000000000000000",     // 18446744073709551616
        "83010203",                   // [1, 2, 3]
        "a201020304",                 // {1: 2, 3: 4}
        "9fff",                       // [_ ]
        "7f657374726561646d696e67ff", // (_ "strea", "ming")
    ];
    for bytes in published {
        let value = read(&hex(bytes));
        assert_eq!(value, Value::Opaque(hex(bytes)), "{bytes}");
        assert_eq!(written(value), hex(bytes));
    }
}

// FIPS 180-4 (in force since August 2015); examples of its algorithms: NIST,
// "Cryptographic Standards and Guidelines, Examples with Intermediate Values",
// SHA256: "abc" and the message of 448 bits; the empty message: NIST CAVP,
// SHA256ShortMsg, Len = 0.
#[test]
fn sha_256_is_that_of_fips_180_4() {
    let two_blocks = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    let published = [
        ("abc", "ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad"),
        (two_blocks, "248d6a61 d20638b8 e5c02693 0c3e6039 a33ce459 64ff2167 f6ecedd4 19db06c1"),
        ("", EMPTY),
    ];
    for (message, digest) in published {
        assert_eq!(Sha256::digest(message).to_vec(), hex(digest), "{message}");
    }
}

const EMPTY: &str = "e3b0c442 98fc1c14 9afbf4c8 996fb924 27ae41e4 649b934c a495991b 7852b855";

#[test]
fn the_digest_of_an_empty_book_is_the_published_one_of_no_bytes() {
    let dir = tempfile::tempdir().unwrap();
    let now = Now { at: Moment { utc_ms: EXAMPLE_MS, offset_min: 0 }, entropy: [3; 16] };
    let book =
        Book::create(&dir.path().join("b.book"), Name::new("Nobody").unwrap(), Role::Coach, now).unwrap();
    assert_eq!(book.check().unwrap().digest, EMPTY.replace(' ', ""));
}

/// The Julian day number at noon of a day of the Gregorian calendar: Fliegel
/// and Van Flandern, "A machine algorithm for processing calendar dates",
/// Communications of the ACM 11(10), 1968, p. 657; divisions toward zero.
fn julian_day(year: i64, month: i64, day: i64) -> i64 {
    day - 32_075
        + 1461 * (year + 4800 + (month - 14) / 12) / 4
        + 367 * (month - 2 - (month - 14) / 12 * 12) / 12
        - 3 * ((year + 4900 + (month - 14) / 12) / 100) / 4
}

/// The Julian day number of 1970-01-01, day 0 of the book.
const DAY_0: i64 = 2_440_588;

// ISO 8601-1:2019 (published; amended 2022), calendar dates. Day numbers:
// Meeus, Astronomical Algorithms, 2nd ed. 1998, chapter 7: 2000 January 1.5 is
// JD 2451545.0, 1999 January 1.0 is 2451179.5; IERS Conventions 2010: MJD 51544
// is 2000-01-01.
#[test]
fn day_numbers_are_those_of_published_dates() {
    for (date, noon) in [("2000-01-01", 2_451_545), ("1999-01-01", 2_451_180)] {
        let day = Day::parse(date).unwrap();
        assert_eq!(day.number() + DAY_0, noon, "{date}");
        assert_eq!(Day::from_number(noon - DAY_0).unwrap().to_string(), date);
    }
    assert_eq!(julian_day(1970, 1, 1), DAY_0);
    // MJD 0 began half a day before JD 2400001, so MJD is that of noon less 2400001.
    assert_eq!(Day::parse("2000-01-01").unwrap().number() + DAY_0 - 2_400_001, 51_544);
}

#[test]
fn every_day_that_may_be_logged_has_the_number_that_the_published_formula_gives() {
    let first = Day::parse("1990-01-01").unwrap().number();
    let last = Day::parse("2200-12-31").unwrap().number();
    assert_eq!(last - first + 1, 211 * 365 + 51);
    for number in first..=last {
        let day = Day::from_number(number).unwrap();
        let (year, month, of_month) = day.parts();
        let noon = julian_day(year.into(), month.into(), of_month.into());
        assert_eq!(noon - DAY_0, number, "{day}");
        assert_eq!(Day::parse(&format!("{year:04}-{month:02}-{of_month:02}")), Ok(day));
    }
}

// ISO 8601-1:2019 section 4.2.1: a year that is divisible by 100 but not by
// 400 is a common year.
#[test]
fn leap_days_are_those_of_the_gregorian_calendar() {
    for there in ["2000-02-29", "2024-02-29"] {
        assert!(Day::parse(there).is_ok(), "{there}");
    }
    for not in ["2100-02-29", "2200-02-29", "2026-02-29", "2026-04-31", "2026-13-01", "2026-00-10"] {
        assert!(Day::parse(not).is_err(), "{not}");
    }
    // Other forms of the standard, and none of it.
    for form in ["20260430", "2026-W18-4", "2026-120", "26-04-30", "2026-4-30", "30.04.2026", "2026-04-30T"] {
        assert!(Day::parse(form).is_err(), "{form}");
    }
}
