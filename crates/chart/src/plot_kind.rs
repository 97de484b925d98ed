//! Which plots there are, what each shows, and which rules each is about. Decided here once, for the
//! window and for paper.

use analysis::Rule;
use case::Case;
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
            Self::Residence => "Residence time",
            Self::Process => "Process",
        }
    }

    /// The channels that it can show, the most important first; none for the residence time, which is
    /// the audit's.
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
                Role::CleaningReturnTemperature,
            ],
        }
    }

    /// Whether an exception of the rule shows in this plot: it judges what is drawn, or what is drawn
    /// is worked out of what it judges. What can't be verified may lie in any reading.
    pub fn is_about(self, rule: Rule) -> bool {
        let judged = match self {
            Self::Pressures => &[Role::DifferentialPressure],
            Self::Residence => &[Role::FlowRate],
            _ => self.roles(),
        };
        let reads = rule.definition().reads;
        reads.is_empty() || reads.iter().any(|role| judged.contains(role))
    }

    /// The least that its scale spans about a figure, in the unit shown (ours): of flow and pressures a tenth up and
    /// down, of temperatures two degrees.
    pub(crate) fn least_span(self, middle: f64) -> f64 {
        match self {
            Self::Flow | Self::Pressures => 0.2 * middle.abs(),
            Self::Differential | Self::Residence => 0.1 * middle.abs(),
            Self::Holding | Self::Process => 4.0,
        }
    }

    /// Whether there is something to draw in it.
    pub fn is_in(self, case: &Case) -> bool {
        match self {
            Self::Residence => case.audit().residence.is_some(),
            _ => self.roles().iter().any(|&role| case.record().channel(role).is_some()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_shows_in_a_plot() {
        for &rule in Rule::ALL {
            assert!(PlotKind::ALL.iter().any(|kind| kind.is_about(rule)), "{rule:?}");
        }
    }
}
