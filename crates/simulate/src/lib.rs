//! A physical model of an HTST pasteurizer that writes run records together with the truth.
//!
//! A [`Script`] says what operators do and what breaks; [`simulate`] plays it on an energy and
//! pressure balance of regenerator, heater, holding tube, diversion device and pumps, and gives a
//! [`Run`]: the rows a logger would write, and the [`Truth`] of unsafe forward flow, taken from
//! the state of the model and never from the readings. [`write_csv`] writes the rows in the
//! dialects of different loggers, [`sample_runs`] are the days of the demo plant, [`proof`] holds
//! days on which a record is trusted too much or suspected too easily, [`week`] is a week of a plant with all that a
//! review asks about, [`bench_csv`] writes long records quickly.
//!
//! The model is for testing and showing, not for design: its figures are invented. It knows the
//! nouns and the plant, and nothing of reading or auditing. It has no clock, touches no disk but in
//! [`write_sample_runs`], and uses only arithmetic that is the same on every machine.

mod bench;
mod control;
mod days;
mod dialect;
mod diversion;
mod error;
mod events;
mod folder;
mod noise;
mod process;
pub mod proof;
mod record;
mod script;
mod simulate;
mod step;
mod truth;
pub mod week;

pub use bench::{BENCH_COLUMNS, bench_csv, bench_plant_file};
pub use days::{SampleDay, demo, plant_file, sample_days, sample_plant, sample_runs};
pub use dialect::{Dialect, Encoding, Newline, Quotes, Stamps, write_csv};
pub use error::Error;
pub use events::{Alarmed, Cleaned, DivertCause, Diverted, Events, FlowAlarm, Minute, Risen};
pub use folder::write_sample_runs;
pub use record::{Beside, COLUMNS, Cell, Column, Row, Run, TIME_HEADER};
pub use script::{Fault, FaultKind, Medium, Script, Step};
pub use simulate::simulate;
pub use truth::{Harmless, Truth, TruthRule, Unsafe, truth_json};
