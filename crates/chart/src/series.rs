//! One line of a plot: a channel of the record, or the residence time that the audit found. Values are
//! in the recorded unit; a front end may show them in another.

use crate::curve::Curve;
use crate::curves::Curves;
use crate::plot_kind::PlotKind;
use crate::polylines::Polylines;
use crate::pyramid::Pyramid;
use analysis::Residence;
use case::Case;
use trace::{ChannelView, Interval, Role, ValveState, power_of_ten};

/// A line of a plot.
#[derive(Debug, Clone, Copy)]
pub struct Series<'a> {
    case: &'a Case,
    curves: &'a Curves,
    pyramid: &'a Pyramid,
    source: Source<'a>,
}

/// What the line is of.
#[derive(Debug, Clone, Copy)]
pub enum Source<'a> {
    /// A channel of the record.
    Channel(Role, ChannelView<'a>),
    /// The residence time at each sample.
    Residence(&'a Residence),
}

impl<'a> Series<'a> {
    /// The lines of a plot, the most important first.
    pub fn of(kind: PlotKind, case: &'a Case, curves: &'a Curves) -> Vec<Self> {
        if kind == PlotKind::Residence {
            let residence = case.audit().residence.as_ref().zip(curves.residence());
            let series = residence.map(|(residence, pyramid)| Self {
                case,
                curves,
                pyramid,
                source: Source::Residence(residence),
            });
            return series.into_iter().collect();
        }
        let series = kind.roles().iter().filter_map(|&role| {
            let channel = case.record().channel(role)?;
            let pyramid = curves.pyramid(role)?;
            Some(Self { case, curves, pyramid, source: Source::Channel(role, channel) })
        });
        series.collect()
    }

    /// What it is of.
    pub const fn source(&self) -> Source<'a> {
        self.source
    }

    /// The channel's role; `None` for the residence time.
    pub const fn role(&self) -> Option<Role> {
        match self.source {
            Source::Channel(role, _) => Some(role),
            Source::Residence(_) => None,
        }
    }

    /// All samples as integers, as [`ChannelView::mantissas`].
    pub fn mantissas(&self) -> &'a [i64] {
        match self.source {
            Source::Channel(_, channel) => channel.mantissas(),
            Source::Residence(residence) => residence.milliseconds(),
        }
    }

    /// What a mantissa is divided by. For drawing, where the last bit of a binary number is of no
    /// matter.
    pub fn divisor(&self) -> f64 {
        match self.source {
            Source::Channel(_, channel) => power_of_ten(channel.scale()) as f64,
            Source::Residence(_) => 1000.0,
        }
    }

    /// The symbol of the recorded unit.
    pub fn symbol(&self) -> &'static str {
        match self.source {
            Source::Channel(_, channel) => channel.symbol(),
            Source::Residence(_) => "s",
        }
    }

    /// The curve that the line is drawn from.
    pub fn curve(&self) -> Curve<'a> {
        let gaps = &self.case.audit().gaps;
        Curve { mantissas: self.mantissas(), gaps, pyramid: self.pyramid }
    }

    /// The least and the greatest mantissa of a line of this series among the samples in `shown`; only
    /// in forward flow if that is asked.
    pub fn extent(&self, line: &Polylines, shown: Interval, forward: bool) -> Option<(i64, i64)> {
        let instants = self.case.record().instants();
        let first = instants.partition_point(|&at| at < shown.start()) as u32;
        let end = instants.partition_point(|&at| at <= shown.end()) as u32;
        let mut runs = self.curves.valve().all().iter();
        let mut run = runs.next();
        let mut extent: Option<(i64, i64)> = None;
        for (&sample, &mantissa) in line.samples().iter().zip(line.mantissas()) {
            if !(first..end).contains(&sample) {
                continue;
            }
            if forward {
                // Samples and runs are in order of time, so both are walked once.
                while run.is_some_and(|run| run.last < sample as usize) {
                    run = runs.next();
                }
                if run.is_none_or(|run| run.state != ValveState::Forward) {
                    continue;
                }
            }
            let (least, greatest) = extent.unwrap_or((mantissa, mantissa));
            extent = Some((least.min(mantissa), greatest.max(mantissa)));
        }
        extent
    }
}
