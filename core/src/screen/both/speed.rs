//! Swings for speed from both sides, within the caps; and pain, which stops them.

use crate::act::{clear_pain, record_speed, report_pain};
use crate::model::quantity::HeadSpeed;
use crate::model::{SpeedSource, SpeedSwing, SwingSide};
use crate::plan::{Caps, Papers, SpeedSummary};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{caution, decimal, field, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See, Wanted};
use crate::screen::speed_page;
use crate::words::screen::rest as say;

const SIDE: &str = "speed.side";
const VALUE: &str = "speed.value";
const SOURCE: &str = "speed.source";
const LOG: &str = "speed.log";
const PAIN: &str = "speed.pain";
const CLEAR: &str = "speed.clear";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (student, held, day) = (see.student()?, see.held(), see.day());
    let units = student.student.value.units;
    let papers = Papers::read(see.book()?, &student)?;
    let caps = Caps::of(&papers, papers.plan_on(day), day);
    let page = speed_page(student.student.value.name.as_str(), &SpeedSummary::of(&papers), units);
    let mut shown = Shown::new(say::SPEED, student.student.value.name.as_str());
    if caps.stopped_by_pain {
        shown.add(caution("speed.stop", crate::words::plan::PAIN));
        shown.add(Control::action(CLEAR, say::CLEAR, Look::Plain));
    } else {
        let done = papers.efforts_on(day);
        shown.add(text("speed.left", say::efforts(done, (caps.limits.a_day - done).max(0))));
        let chosen = |key: &str, usual: &str| Some(held.text(key).unwrap_or(usual).to_owned());
        let sides = [("playing", say::SIDE_PLAYING), ("other", say::SIDE_OTHER)];
        shown.add(Control::choice(SIDE, say::SIDE, sides, chosen(SIDE, "playing")));
        shown.add(field(held, VALUE, say::SPEED_VALUE, FieldKind::Number).unit(units.speed(1.0).1));
        let sources = [("radar", say::SOURCE_RADAR), ("typed", say::SOURCE_TYPED)];
        shown.add(Control::choice(SOURCE, say::SOURCE, sources, chosen(SOURCE, "radar")));
        shown.add(Control::action(LOG, say::SPEED_LOG, Look::Main));
        shown.add(Control::action(PAIN, say::PAIN, Look::Takes).hint(say::PAIN_HINT));
    }
    shown.parts.extend(page.into_parts());
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let (student, day) = (doing.student()?, doing.day());
    let strand = student.strand;
    match key.as_str() {
        LOG => {
            let value = decimal(doing.held(), VALUE, say::SPEED_VALUE)?;
            let value = value.ok_or_else(|| Problem(say::SPEED_NEED.into()))?;
            let units = student.student.value.units;
            let head_speed = HeadSpeed::new(value / units.speed(1.0).0)?;
            let side =
                if doing.held().text(SIDE) == Some("other") { SwingSide::Other } else { SwingSide::Playing };
            let typed = doing.held().text(SOURCE) == Some("typed");
            let source = if typed { SpeedSource::Typed } else { SpeedSource::Radar };
            let swing = SpeedSwing { session: None, day, side, head_speed, source, planned: None };
            let said = crate::words::number::speed(units, head_speed.mps());
            doing.write(strand, said.as_str(), |book, now| record_speed(book, strand, now, &[swing]))?;
            doing.held().clear(VALUE);
            doing.tell(say::swing(&said));
            doing.ask(Wanted::Buzz);
        }
        PAIN => {
            doing.write(strand, say::PAIN_UNDO, |book, now| report_pain(book, strand, now, None))?;
            doing.tell(say::PAIN_SAID);
        }
        CLEAR => {
            doing.write(strand, say::CLEAR_UNDO, |book, now| clear_pain(book, strand, now, day))?;
            doing.tell(say::CLEARED);
        }
        _ => {}
    }
    Ok(())
}
