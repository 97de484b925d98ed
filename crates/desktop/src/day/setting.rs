//! Which plots there are, and how each is set up: its place, its height, whether it is folded.

use crate::day::Day;
use serde::{Deserialize, Serialize};
use trace::Role;

/// A plot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlotKind {
    /// Holding temperature and recorder with the product's limit.
    Holding,
    /// Pasteurized minus raw with its limit.
    Differential,
    /// The two pressures of the regenerator.
    Pressures,
    /// The flow meter.
    Flow,
    /// The residence time in the holding tube with its least.
    Residence,
    /// Raw, regenerated, heating water and cooled temperatures.
    Process,
}

impl PlotKind {
    /// All plots, in the usual order.
    pub const ALL: [Self; 6] = [
        Self::Holding,
        Self::Differential,
        Self::Pressures,
        Self::Flow,
        Self::Residence,
        Self::Process,
    ];

    /// The title.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Holding => "Holding tube",
            Self::Differential => "Differential",
            Self::Pressures => "Regenerator",
            Self::Flow => "Flow",
            Self::Residence => "Holding time",
            Self::Process => "Process",
        }
    }

    /// The channels that it can show, the most important first.
    pub const fn roles(self) -> &'static [Role] {
        match self {
            Self::Holding => &[Role::HoldingTemperature, Role::RecorderTemperature],
            Self::Differential => &[Role::DifferentialPressure],
            Self::Pressures => &[Role::PasteurizedPressure, Role::RawPressure],
            Self::Flow => &[Role::FlowRate],
            Self::Residence => &[],
            Self::Process => &[
                Role::RegeneratedTemperature,
                Role::HeatingWaterTemperature,
                Role::RawTemperature,
                Role::CooledTemperature,
            ],
        }
    }

    /// Whether there is something to draw in it.
    pub fn is_in(self, day: &Day) -> bool {
        match self {
            Self::Residence => day.case.audit().residence.is_some(),
            _ => self.roles().iter().any(|&role| day.case.record().channel(role).is_some()),
        }
    }
}

/// The name of a channel beside its readings.
pub const fn short_name(role: Role) -> &'static str {
    match role {
        Role::HoldingTemperature => "Indicating",
        Role::RecorderTemperature => "Recorder",
        Role::DifferentialPressure => "Past. \u{2212} raw",
        Role::PasteurizedPressure => "Pasteurized",
        Role::RawPressure => "Raw",
        Role::FlowRate => "Flow",
        Role::RegeneratedTemperature => "Regenerated",
        Role::HeatingWaterTemperature => "Heating water",
        Role::RawTemperature => "Raw milk",
        Role::CooledTemperature => "Cooled",
        _ => "",
    }
}

/// How one plot is set up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlotSetting {
    /// Which plot.
    pub plot: PlotKind,
    /// Whether only its readings are shown.
    pub folded: bool,
    /// Its height relative to the others'.
    pub share: f32,
}

impl PlotSetting {
    /// All plots as they are at first.
    pub fn all() -> Vec<Self> {
        PlotKind::ALL.into_iter().map(Self::usual).collect()
    }

    fn usual(plot: PlotKind) -> Self {
        let (folded, share) = match plot {
            PlotKind::Holding => (false, 1.5),
            PlotKind::Differential | PlotKind::Pressures => (false, 1.1),
            PlotKind::Flow => (false, 0.8),
            PlotKind::Residence | PlotKind::Process => (true, 1.0),
        };
        Self { plot, folded, share }
    }

    /// The settings of a file with every plot in it exactly once.
    pub fn complete(given: &[Self]) -> Vec<Self> {
        let mut complete: Vec<Self> = Vec::new();
        for setting in given.iter().copied().chain(Self::all()) {
            if complete.iter().all(|other| other.plot != setting.plot) {
                let share = if setting.share.is_finite() { setting.share } else { 1.0 };
                complete.push(Self { share: share.clamp(0.2, 10.0), ..setting });
            }
        }
        complete
    }
}
