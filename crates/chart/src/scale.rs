//! The scale of a plot: its range, and the figures that stand beside it.

use crate::plot_kind::PlotKind;

/// The scale of a plot: its range and its ticks, all in the unit shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// The lower edge.
    pub least: f64,
    /// The upper edge.
    pub greatest: f64,
    /// The figures to print.
    pub ticks: Vec<f64>,
    /// How many digits the figures need behind the mark.
    pub digits: usize,
}

impl Scale {
    /// A scale around the range with some room, with at most about `most` ticks.
    pub fn around(least: f64, greatest: f64, most: usize) -> Self {
        let room = ((greatest - least) * 0.1).max(greatest.abs() * 1e-3).max(0.05);
        let (least, greatest) = (least - room, greatest + room);
        let raw = (greatest - least) / most.max(1) as f64;
        let power = 10_f64.powf(raw.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|factor| factor * power)
            .find(|step| *step >= raw)
            .unwrap_or(10.0 * power);
        let digits = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        // The edges move in half steps, so that a scale holds still while one pans.
        let half = step / 2.0;
        let least = (least / half).floor() * half;
        let greatest = (greatest / half).ceil() * half;
        let first = (least / step).ceil() as i64;
        let last = (greatest / step).floor() as i64;
        let ticks = (first..=last.min(first + 50)).map(|index| index as f64 * step).collect();
        Self { least, greatest, ticks, digits }
    }

    /// Where a figure lies between `bottom` and `top`.
    pub fn y(&self, value: f64, bottom: f32, top: f32) -> f32 {
        let share = (value - self.least) / (self.greatest - self.least);
        (f64::from(bottom) + share * f64::from(top - bottom)) as f32
    }

    /// A figure in words.
    pub fn label(&self, value: f64) -> String {
        let digits = self.digits;
        let text = format!("{value:.digits$}");
        if text.starts_with("-0") && text.trim_matches(['-', '0', '.']).is_empty() {
            return text.trim_start_matches('-').to_owned();
        }
        text.replace('-', "\u{2212}")
    }
}

impl Scale {
    /// The scale of the plot `kind` with at most about `most` ticks. It follows what is seen in
    /// forward flow, since that is what the limits are about, and holds the limits in sight; diverted
    /// milk may run off its edge. Without forward flow it follows all that is seen. `seen` gives the
    /// least and the greatest of what is seen, only in forward flow if that is asked; both it and
    /// `limits` are in the unit shown. `None` where there is nothing to show.
    pub fn of(
        kind: PlotKind,
        seen: impl Fn(bool) -> Option<(f64, f64)>,
        limits: impl Iterator<Item = f64> + Clone,
        most: usize,
    ) -> Option<Self> {
        let figures = limits.clone().map(|figure| (figure, figure));
        let hull = seen(true).or_else(|| seen(false)).into_iter().chain(figures);
        let hull = hull.reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)));
        let (least, mut greatest) = hull?;
        if kind == PlotKind::Residence {
            // After a stop milk may have stood in the tube for minutes; what counts is the least.
            greatest = greatest.min((1.6 * limits.fold(0.0, f64::max)).max(least + 1.0));
        }
        Some(Self::around(least, greatest, most))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_hold_their_range() {
        for (least, greatest) in [(158.2, 163.9), (2.0, 2.0), (-3.0, 9.0), (0.0, 6000.0)] {
            let scale = Scale::around(least, greatest, 4);
            assert!(scale.least < least && scale.greatest > greatest, "{scale:?}");
            assert!((2..=10).contains(&scale.ticks.len()), "{scale:?}");
        }
        let scale = Scale::around(158.2, 163.9, 4);
        assert_eq!(scale.label(160.0), "160");
    }
}
