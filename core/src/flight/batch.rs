//! Many shots at once: the what-if's hundred thousand deliveries.
//!
//! Four shots run side by side through the same code as one; each keeps its own
//! steps, so the results have the same bits as one after the other. Nothing is
//! allocated. Start at [`hit_many`].

use super::ball::{Launch, LaunchOf};
use super::club::{Face, Head};
use super::delivery::{Delivery, Hand};
use super::error::FlightError;
use super::impact::{LEAST_CLOSING_MPS, Strike, Swing};
use super::law::AirLaw;
use super::real::{LANES, Lanes, Real};
use super::trajectory::{Flier, Flight};

/// One shot: how the ball left the face and how it flew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shot {
    /// How it left the face.
    pub launch: Launch,
    /// Whether the ball slipped along the face.
    pub slipped: bool,
    /// How it flew.
    pub flight: Flight,
}

/// Impact and flight of one delivery.
///
/// # Errors
/// As [`super::impact::impact`].
pub fn hit<L: AirLaw>(
    head: &Head,
    hand: Hand,
    face: Face,
    flier: &Flier<L>,
    delivery: &Delivery,
) -> Result<Shot, FlightError> {
    let struck = super::impact::impact(head, hand, face, delivery)?;
    let flight = flier.fly_motion(&struck.ball);
    Ok(Shot { launch: struck.launch, slipped: struck.slipped, flight })
}

/// Impact and flight of many deliveries with one club, into `shots` in order.
///
/// # Errors
/// [`FlightError::Room`] if the lists differ in length; [`FlightError::Row`]
/// for the first impossible delivery. Some results may be written before.
pub fn hit_many<L: AirLaw>(
    head: &Head,
    hand: Hand,
    face: Face,
    flier: &Flier<L>,
    deliveries: &[Delivery],
    shots: &mut [Option<Shot>],
) -> Result<(), FlightError> {
    room(deliveries.len(), shots.len())?;
    let strike = Strike::new(head, hand, face);
    for (block, (swings, out)) in deliveries.chunks(LANES).zip(shots.chunks_mut(LANES)).enumerate() {
        let row =
            |i: usize| move |source| FlightError::Row { row: block * LANES + i, source: Box::new(source) };
        for (i, delivery) in swings.iter().enumerate() {
            delivery.check().map_err(row(i))?;
        }
        let (struck, launch) = strike.launch(&Swing::<Lanes>::load(|i| filled(swings, i)));
        for (i, closing_mps) in struck.closing.0.into_iter().take(swings.len()).enumerate() {
            if closing_mps < LEAST_CLOSING_MPS {
                return Err(row(i)(FlightError::NoContact { closing_mps }));
            }
        }
        let down = flier.land(&struck.ball, |_, _| ());
        let slipped = Lanes::select(struck.slipped, Lanes::splat(1.0), Lanes::splat(0.0));
        for (i, shot) in out.iter_mut().enumerate() {
            *shot = Some(Shot {
                launch: launch.lane(i),
                slipped: slipped.lane(i) > 0.5,
                flight: down.lane(i, flier.fitted()),
            });
        }
    }
    Ok(())
}

/// Flights of many launches, into `flights` in order.
///
/// # Errors
/// [`FlightError::Room`] if the lists differ in length; [`FlightError::Row`]
/// for the first impossible launch. Some results may be written before.
pub fn fly_many<L: AirLaw>(
    flier: &Flier<L>,
    launches: &[Launch],
    flights: &mut [Option<Flight>],
) -> Result<(), FlightError> {
    room(launches.len(), flights.len())?;
    for (block, (launches, out)) in launches.chunks(LANES).zip(flights.chunks_mut(LANES)).enumerate() {
        for (i, launch) in launches.iter().enumerate() {
            launch
                .check()
                .map_err(|source| FlightError::Row { row: block * LANES + i, source: Box::new(source) })?;
        }
        let ball = LaunchOf::<Lanes>::load(|i| filled_launch(launches, i)).motion();
        let down = flier.land(&ball, |_, _| ());
        for (i, flight) in out.iter_mut().enumerate() {
            *flight = Some(down.lane(i, flier.fitted()));
        }
    }
    Ok(())
}

fn room(shots: usize, room: usize) -> Result<(), FlightError> {
    if shots == room { Ok(()) } else { Err(FlightError::Room { shots, room }) }
}

/// The i-th of a block; the last one again where the block is short.
#[inline(always)]
fn filled(block: &[Delivery], i: usize) -> Delivery {
    block.get(i).or(block.last()).copied().unwrap_or_default()
}

#[inline(always)]
fn filled_launch(block: &[Launch], i: usize) -> Launch {
    const NONE: Launch = Launch {
        ball_speed_mps: 1.0,
        launch_deg: 0.0,
        start_deg: 0.0,
        backspin_rpm: 0.0,
        sidespin_rpm: 0.0,
        rifle_rpm: 0.0,
    };
    block.get(i).or(block.last()).copied().unwrap_or(NONE)
}
