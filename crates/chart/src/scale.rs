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

    /// The ticks whose figures find room in a plot so high, each in a line of text so high: none at an edge, on
    /// another or on one of the figures that are labelled already. Where that leaves fewer than two a finer step
    /// is taken for all ticks, as long as it is a round one.
    pub fn labelled(&mut self, height: f32, line: f32, taken: &[f64]) -> Vec<f64> {
        let mut best = self.with_room(height, line, taken);
        let power = 10_f64.powf((self.greatest - self.least).log10().floor());
        // From the coarsest: of figures that find room the rounder ones are the better.
        for step in [5.0, 2.0, 1.0, 0.5, 0.2, 0.1].map(|factor| factor * power) {
            if best.len() >= 2 {
                break;
            }
            let mut finer = self.clone();
            let (first, last) = ((self.least / step).ceil(), (self.greatest / step).floor());
            finer.ticks = (first as i64..=last as i64).map(|index| index as f64 * step).collect();
            finer.digits = (-(step * 1.000_001).log10().floor()).clamp(0.0, 6.0) as usize;
            let found = finer.with_room(height, line, taken);
            let is_round = |pair: &[f64]| {
                [1.0, 2.0, 5.0]
                    .iter()
                    .any(|steps| ((pair[1] - pair[0]) / step - steps).abs() < 0.01)
            };
            if found.len() > best.len() && found.windows(2).all(is_round) {
                finer.ticks.clone_from(&found);
                (best, *self) = (found, finer);
            }
        }
        best
    }

    fn with_room(&self, height: f32, line: f32, taken: &[f64]) -> Vec<f64> {
        let place = |value: f64| self.y(value, height, 0.0);
        let mut used: Vec<f32> = taken.iter().map(|&value| place(value)).collect();
        let fits = |&&tick: &&f64| {
            let at = place(tick);
            let is_free = (line / 2.0..=height - line / 2.0).contains(&at)
                && used.iter().all(|other| (other - at).abs() > line);
            if is_free {
                used.push(at);
            }
            is_free
        };
        self.ticks.iter().filter(fits).copied().collect()
    }

    /// Where a figure lies between `bottom` and `top`.
    pub fn y(&self, value: f64, bottom: f32, top: f32) -> f32 {
        let share = (value - self.least) / (self.greatest - self.least);
        (f64::from(bottom) + share * f64::from(top - bottom)) as f32
    }

    /// A figure in words.
    pub fn label(&self, value: f64) -> String {
        case::decimal_places(value, self.digits)
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
        let (mut least, mut greatest) = hull?;
        if kind == PlotKind::Residence {
            // After a stop milk may have stood in the tube for minutes; what counts is the least.
            greatest = greatest.min((1.6 * limits.fold(0.0, f64::max)).max(least + 1.0));
        }
        // The noise of a steady reading would fill the plot otherwise, and look like something.
        let middle = f64::midpoint(least, greatest);
        let more = (kind.least_span(middle) - (greatest - least)).max(0.0) / 2.0;
        (least, greatest) = (least - more, greatest + more);
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

    /// Whatever is seen, and however low a plot of an open window may be.
    #[test]
    fn two_figures_at_least_stand_beside_a_plot() {
        for height in [40.0, 52.0, 66.0, 110.0, 240.0] {
            let most = ((height / 26.0) as usize).clamp(2, 6);
            for (least, greatest, limit) in [
                (158.2, 163.9, Some(161.0)),
                (1.9, 6.7, Some(2.0)),
                (1.9, 2.1, Some(2.0)),
                (19.8, 27.3, None),
                (49.1, 50.9, None),
                (0.0, 6000.0, None),
                (-3.0, 9.0, Some(2.0)),
                (0.131, 0.172, Some(0.138)),
            ] {
                let mut scale = Scale::around(least, greatest, most);
                let taken: Vec<f64> = limit.into_iter().collect();
                let figures = scale.labelled(height, 12.0, &taken);
                // A limit may take the middle of a low plot: then less finds room beside it.
                let wanted = match limit {
                    Some(_) if height < 50.0 => 0,
                    Some(_) if height < 70.0 => 1,
                    _ => 2,
                };
                assert!(
                    figures.len() >= wanted,
                    "{height} {least} {greatest}: {figures:?} {scale:?}"
                );
                let texts: Vec<String> = figures.iter().map(|&one| scale.label(one)).collect();
                assert!(texts.windows(2).all(|pair| pair[0] != pair[1]), "{texts:?}");
            }
        }
    }

    #[test]
    fn noise_does_not_fill_a_plot() {
        for (kind, least, greatest, share) in [
            (PlotKind::Flow, 49.9, 50.1, 0.05),
            (PlotKind::Pressures, 26.9, 27.1, 0.1),
            (PlotKind::Process, 100.0, 100.1, 0.1),
        ] {
            let scale = Scale::of(kind, |_| Some((least, greatest)), std::iter::empty(), 4);
            let span = scale.map_or(0.0, |scale| scale.greatest - scale.least);
            assert!((greatest - least) / span < share, "{kind:?}: {span}");
        }
    }
}
