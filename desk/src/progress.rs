//! A sign of life on work that takes over a second; nothing before that, and
//! nothing where the error stream is no terminal.

use std::io::Read;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::{JoinHandle, spawn};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

const PATIENCE: Duration = Duration::from_secs(1);
const TICK: Duration = Duration::from_millis(120);

/// Work under way; the sign goes when this is dropped.
pub struct Busy {
    bar: ProgressBar,
    done: Option<Sender<()>>,
    watch: Option<JoinHandle<()>>,
}

impl Busy {
    /// Work of unknown length.
    pub fn with(what: &'static str) -> Self {
        Self::showing(ProgressBar::new_spinner(), what, "{spinner} {msg}, {elapsed}")
    }

    /// Reading a file of a known size.
    pub fn reading(what: &'static str, bytes: u64) -> Self {
        Self::showing(ProgressBar::new(bytes), what, "{msg} {wide_bar} {bytes}/{total_bytes}")
    }

    fn showing(bar: ProgressBar, what: &'static str, template: &str) -> Self {
        bar.set_draw_target(ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        bar.set_message(what);
        let (done, waits) = channel();
        let shown = bar.clone();
        let watch = spawn(move || {
            if waits.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                shown.set_draw_target(ProgressDrawTarget::stderr());
                shown.enable_steady_tick(TICK);
            }
        });
        Self { bar, done: Some(done), watch: Some(watch) }
    }

    /// What is read through this moves the bar.
    pub fn read<R: Read>(&self, from: R) -> impl Read {
        self.bar.wrap_read(from)
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        // Closing the channel wakes the watch.
        self.done.take();
        if let Some(watch) = self.watch.take() {
            let _ = watch.join();
        }
        self.bar.finish_and_clear();
    }
}
