//! The plant file: what a plant says of its pasteurizer, its products and its limits.
//!
//! A plant file is TOML and read strictly: an unknown key is an error with its line. It binds the
//! logger's columns to roles, names units, valve words, products, shifts and the time zone, and
//! may set limits of its own. Every limit carries its source, and where a regulation prints two
//! units, both printed figures: the one is not a conversion of the other.

mod bounds;
mod cleaning;
mod columns;
mod completeness;
mod equipment;
mod error;
mod file;
mod limit;
mod limits;
mod loggers;
mod plant;
mod products;
mod review;
mod rows;
mod setting;
mod shift;
mod tube;
mod zone;

pub use bounds::{Accepted, Beyond, LONGEST_GAP};
pub use cleaning::CleaningPlan;
pub use columns::{
    AnyUnit, Binding, Columns, DateOrder, DayNumbers, LongForm, Mode, ModeWords, SinceStart,
    StampColumns, SwitchWords, TimeUnit, Times, ValveWords,
};
pub use completeness::{Evidence, LISTS, RequiredItem};
pub use equipment::{EquipmentTest, TestPlan};
pub use error::Error;
pub use file::line_and_column;
pub use limit::{PressureLimit, Provenance, Source, TemperatureLimit};
pub use limits::{Limits, SlewLimits};
pub use loggers::{FileForm, FilePattern, Logger, OnChange};
pub use plant::{Plant, PlantFile, Thermometer};
pub use products::{Product, Products, Strictest};
pub use review::{Retention, RetentionUnit, Review};
pub use rows::{Family, ROWS, Row, rich_row, row};
pub use setting::Setting;
pub use shift::Shift;
pub use tube::{Certificate, Flow, Geometry, Tube, months_after, velocity_ratio};
pub use zone::{LocalResolution, LoggerClock, UnknownZone, Zone};
