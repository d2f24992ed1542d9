//! Does a trial call what isn't there, and do its ranges hold the truth? Seeded
//! simulation. The long form:
//!
//! ```text
//! cargo test --release -p chalkface-core trials_in_full -- --ignored --nocapture
//! ```
//!
//! Start at [`World`].

use super::*;
use crate::dice::Dice;
use crate::model::BlockOrder;

#[derive(Clone, Copy)]
struct World {
    name: &'static str,
    blocks: i64,
    balls: i64,
    heavy: bool,
    /// SD of a block's shift, in SDs of a ball.
    blocks_sd: f64,
    /// How far values run up from the first ball to the last, in the same.
    drift: f64,
    /// Chance that a ball is lost.
    lost: f64,
}

const PLAIN: World =
    World { name: "plain", blocks: 6, balls: 4, heavy: false, blocks_sd: 0.5, drift: 0.0, lost: 0.0 };

fn worlds(full: bool) -> Vec<World> {
    let small = World { blocks: 4, ..PLAIN };
    let mut worlds = vec![
        World { name: "4 blocks of 4", ..small },
        World { name: "8 blocks of 2", blocks: 8, balls: 2, ..PLAIN },
        World { name: "3 blocks of 4", blocks: 3, ..PLAIN },
        World { name: "heavy tails", heavy: true, ..small },
        World { name: "drift of 3 SD", drift: 3.0, ..small },
        World { name: "a ball in five lost", lost: 0.2, ..small },
    ];
    if full {
        worlds.extend([
            World { name: "6 blocks of 4", ..PLAIN },
            World { name: "6 blocks of 4, heavy, drift, lost", heavy: true, drift: 3.0, lost: 0.1, ..PLAIN },
            World { name: "12 blocks of 4 (drawn orders)", blocks: 12, ..PLAIN },
        ]);
    }
    worlds
}

fn trial(world: &World, effect: f64, dice: &mut Dice) -> Vec<Vec<Value>> {
    let mut entropy = [0; 16];
    for byte in &mut entropy {
        *byte = (dice.uniform() * 256.0) as u8;
    }
    let order = BlockOrder::draw(world.blocks, world.balls, entropy).unwrap();
    let mut blocks: Vec<Vec<Value>> = vec![Vec::new(); usize::from(order.blocks())];
    let shifts: Vec<f64> = blocks.iter().map(|_| world.blocks_sd * dice.normal()).collect();
    for ball in order.each() {
        let block = usize::from(order.block(ball)) - 1;
        let second = order.arm(ball) == Some(Arm::Second);
        let noise = if world.heavy { dice.heavy() } else { dice.normal() };
        let run = world.drift * f64::from(ball.get()) / f64::from(order.balls());
        if dice.uniform() >= world.lost {
            blocks[block].push((noise + shifts[block] + run + if second { effect } else { 0.0 }, second));
        }
    }
    blocks
}

/// Shares of trials that call something, and whose range holds the truth.
fn shares(world: &World, effect: f64, trials: u32, seed: u64) -> (f64, f64) {
    let mut dice = Dice::new(seed);
    let (mut called, mut held) = (0, 0);
    for _ in 0..trials {
        // Where every ball of an arm was lost, there is nothing to be wrong about.
        let Some(found) = randomisation(&trial(world, effect, &mut dice), LEVEL, b"seed") else {
            held += 1;
            continue;
        };
        called += u32::from(found.p_value <= CALLED_AT);
        let above = found.low.is_none_or(|low| low <= effect);
        held += u32::from(above && found.high.is_none_or(|high| effect <= high));
    }
    (f64::from(called) / f64::from(trials), f64::from(held) / f64::from(trials))
}

#[test]
fn a_trial_without_a_difference_calls_one_in_at_most_one_of_twenty() {
    for (n, world) in worlds(false).iter().enumerate() {
        // 1,200 trials: four standard errors of 5 % are 2.5 %.
        let (called, _) = shares(world, 0.0, 1_200, 70 + n as u64);
        assert!(called <= 0.075, "{}: {called}", world.name);
    }
}

#[test]
fn the_ranges_hold_the_true_difference_nine_times_in_ten() {
    for (n, world) in worlds(false).iter().enumerate() {
        let (_, held) = shares(world, 0.8, 1_200, 80 + n as u64);
        assert!((0.865..=0.945).contains(&held), "{}: {held}", world.name);
    }
}

#[test]
fn the_difference_that_was_told_before_is_called_in_about_four_of_five() {
    // 600 trials: four standard errors are 6.5 %; the smallest trials are the
    // coarsest.
    for (blocks, balls) in [(4, 4), (3, 4), (8, 2), (2, 6)] {
        let effect = power::detectable(1.0, blocks as f64, balls as f64);
        let (called, _) = shares(&World { blocks, balls, ..PLAIN }, effect, 600, 90);
        assert!((0.72..=0.88).contains(&called), "{blocks} of {balls}: {called}");
    }
}

#[test]
fn a_start_spread_that_is_the_same_is_hardly_ever_called_though_its_test_is_approximate() {
    let mut dice = Dice::new(91);
    let mut called = 0;
    for _ in 0..800 {
        let starts = trial(&World { blocks: 4, blocks_sd: 0.0, ..PLAIN }, 3.0, &mut dice);
        // As in a log: distances from the arm's own middle.
        let middle = |second: bool| {
            let mut own: Vec<f64> =
                starts.iter().flatten().filter(|(_, of)| *of == second).map(|(v, _)| *v).collect();
            own.sort_unstable_by(f64::total_cmp);
            0.5 * (own[own.len() / 2] + own[(own.len() - 1) / 2])
        };
        let middles = [middle(false), middle(true)];
        let spread: Vec<Vec<Value>> = starts
            .iter()
            .map(|block| block.iter().map(|(v, s)| ((v - middles[usize::from(*s)]).abs(), *s)).collect())
            .collect();
        called += u32::from(randomisation(&spread, LEVEL, b"").unwrap().p_value <= CALLED_AT);
    }
    assert!(called <= 64, "{called} of 800");
}

#[test]
#[ignore = "the long form: minutes"]
fn trials_in_full() {
    for (n, world) in worlds(true).iter().enumerate() {
        let trials = if world.blocks > 4 && world.balls > 2 { 4_000 } else { 20_000 };
        let (called, _) = shares(world, 0.0, trials, 170 + n as u64);
        let (_, held) = shares(world, 0.8, trials, 180 + n as u64);
        let told = power::detectable(1.0, world.blocks as f64, world.balls as f64);
        let (power, _) = shares(world, told, trials, 190 + n as u64);
        println!(
            "{}: called without {called:.4}, held {held:.4}, told difference called {power:.3}",
            world.name
        );
    }
}
