//! What is built once for a record so that each frame is cheap: pyramids for the traces, runs of
//! states for the ribbons, sums for the means. Figures on the screen come from the raw samples.

use crate::pyramid::Pyramid;
use crate::states::StateRuns;
use case::Case;
use std::ops::Range;
use trace::{ChannelView, Role, ValveState};

/// The channels and ribbons of a record, ready to be drawn.
#[derive(Debug, Clone)]
pub struct Curves {
    channels: Vec<Prepared>,
    valve: StateRuns<ValveState>,
    products: Option<StateRuns<u32>>,
    residence: Option<Pyramid>,
}

#[derive(Debug, Clone)]
struct Prepared {
    role: Role,
    pyramid: Pyramid,
    sums: Vec<Sum>,
}

/// The valid readings of a block of samples.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    mantissas: i128,
    readings: u32,
}

/// How many samples a block of sums holds.
const BLOCK: usize = 256;

impl Curves {
    /// Prepares a record and what was found at every sample.
    pub fn build(case: &Case) -> Self {
        let (record, audit) = (case.record(), case.audit());
        let channels = record
            .channels()
            .into_iter()
            .map(|(role, channel)| {
                let mantissas = channel.mantissas();
                Prepared {
                    role,
                    pyramid: Pyramid::build(mantissas),
                    sums: mantissas.chunks(BLOCK).map(sum).collect(),
                }
            })
            .collect();
        Self {
            channels,
            valve: StateRuns::build(record.valve()),
            products: record.product().map(|text| StateRuns::build(text.codes())),
            residence: audit
                .residence
                .as_ref()
                .map(|residence| Pyramid::build(residence.milliseconds())),
        }
    }

    /// The valve's positions.
    pub const fn valve(&self) -> &StateRuns<ValveState> {
        &self.valve
    }

    /// The products, as codes of the record's text channel.
    pub const fn products(&self) -> Option<&StateRuns<u32>> {
        self.products.as_ref()
    }

    /// The residence time.
    pub const fn residence(&self) -> Option<&Pyramid> {
        self.residence.as_ref()
    }

    fn prepared(&self, role: Role) -> Option<&Prepared> {
        self.channels.iter().find(|prepared| prepared.role == role)
    }

    /// The pyramid of a channel.
    pub fn pyramid(&self, role: Role) -> Option<&Pyramid> {
        self.prepared(role).map(|prepared| &prepared.pyramid)
    }

    /// The mean of the valid readings among `samples` in the recorded unit, and how many they are;
    /// `None` where there is none.
    pub fn mean(
        &self,
        role: Role,
        channel: ChannelView<'_>,
        samples: Range<usize>,
    ) -> Option<(f64, u64)> {
        let prepared = self.prepared(role)?;
        let mantissas = channel.mantissas();
        let end = samples.end.min(mantissas.len());
        let start = samples.start.min(end);
        let head = start.next_multiple_of(BLOCK).min(end);
        let tail = (end / BLOCK * BLOCK).max(head);
        let edges = [sum(&mantissas[start..head]), sum(&mantissas[tail..end])];
        let blocks = prepared.sums.get(head / BLOCK..tail / BLOCK).unwrap_or(&[]);
        let (total, readings) =
            edges.iter().chain(blocks).fold((0_i128, 0_u64), |(total, count), sum| {
                (total + sum.mantissas, count + u64::from(sum.readings))
            });
        if readings == 0 {
            return None;
        }
        let scale = trace::power_of_ten(channel.scale()) as f64;
        Some((total as f64 / readings as f64 / scale, readings))
    }
}

fn sum(mantissas: &[i64]) -> Sum {
    let mut sum = Sum::default();
    for &mantissa in mantissas {
        if ChannelView::is_valid(mantissa) {
            sum.mantissas += i128::from(mantissa);
            sum.readings += 1;
        }
    }
    sum
}
