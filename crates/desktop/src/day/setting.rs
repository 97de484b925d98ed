//! How each plot is set up: its place, its height, whether it is folded.

use crate::commands::Command;
use chart::PlotKind;
use serde::{Deserialize, Serialize};
use trace::Role;

/// The name of a channel beside its readings.
pub const fn short_name(role: Role) -> &'static str {
    match role {
        Role::HoldingTemperature => "Indicating",
        Role::RecorderTemperature => "Recorder",
        Role::DifferentialPressure => "Differential",
        Role::PasteurizedPressure => "Pasteurized",
        Role::RawPressure => "Raw",
        Role::FlowRate => "Flow",
        Role::RegeneratedTemperature => "Regenerated",
        Role::HeatingWaterTemperature => "Heating water",
        Role::RawTemperature => "Raw milk",
        Role::CooledTemperature => "Cooled",
        Role::CleaningReturnTemperature => "CIP return",
        _ => "",
    }
}

/// The command that folds or unfolds a plot.
pub const fn fold_command(plot: PlotKind) -> Command {
    match plot {
        PlotKind::Holding => Command::FoldHolding,
        PlotKind::Differential => Command::FoldDifferential,
        PlotKind::Pressures => Command::FoldPressures,
        PlotKind::Flow => Command::FoldFlow,
        PlotKind::Residence => Command::FoldResidence,
        PlotKind::Process => Command::FoldProcess,
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
