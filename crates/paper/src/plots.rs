//! The plots as figures that a template only has to draw: paths of real readings, limits, bands of
//! exceptions and the valve's positions. Across, a plot has 10,000 units, from the left; its height
//! is in the same units, from the top.

use analysis::{Exception, Rule};
use case::Case;
use chart::{
    Columns, Curves, Grain, LimitStep, PlotKind, Polylines, Scale, Series, merged, time_ticks,
};
use serde::Serialize;
use trace::{Duration, Instant, Interval};

/// The width of a plot.
const GRID: f64 = 10_000.0;
/// Columns of the plots of a whole record: more than a printer shows over the width of a page.
const COLUMNS: usize = 600;
/// Columns of an exception's plot.
const ZOOMED: usize = 300;
/// What is narrower than this on the grid is drawn as wide: 0.3 mm of a page.
const LEAST: i32 = 18;
/// A flag above the bands takes this much of the grid.
const FLAG: i32 = 420;
/// The width of an arrowhead.
const HEAD: i32 = 120;
/// Beside an exception as much again is shown, and at least this.
const LEAST_ASIDE: Duration = Duration::from_seconds(20);

/// Some plots over one axis of time.
#[derive(Serialize)]
pub(crate) struct Panel {
    /// From and to on the plant's clock.
    from: String,
    to: String,
    ticks: Vec<Tick>,
    plots: Vec<Plot>,
    bands: Vec<Band>,
    /// The numbers of exceptions above their bands, as far as there is room.
    flags: Vec<Flag>,
    valve: Vec<Position>,
}

#[derive(Serialize)]
struct Tick {
    at: i32,
    label: String,
}

#[derive(Serialize)]
struct Plot {
    title: &'static str,
    unit: &'static str,
    /// What the plot shows, for who can't see it.
    alt: String,
    /// Where the width is 10,000.
    height: i32,
    ticks: Vec<Tick>,
    limits: Vec<Limit>,
    /// The readings as the data of an SVG path (SVG 1.1, section 8.3): a line stops where readings
    /// are missing, one between two holes is a line of no length. A typesetter takes it as it is,
    /// which is many times as fast as to hand it each point.
    path: String,
    /// The keys of the rules that the plot is about.
    rules: Vec<&'static str>,
    /// Whether readings lie beyond the scale.
    cut: bool,
    /// Where the trace leaves the scale.
    heads: Vec<Head>,
}

/// An arrowhead at the edge of a plot.
#[derive(Serialize)]
struct Head {
    /// Its middle.
    at: i32,
    /// Whether it is at the upper edge.
    above: bool,
}

#[derive(Serialize)]
struct Limit {
    from: i32,
    to: i32,
    y: i32,
    label: String,
}

#[derive(Serialize)]
struct Band {
    rule: &'static str,
    outer: [i32; 2],
    observed: [i32; 2],
}

#[derive(Serialize)]
struct Flag {
    rule: &'static str,
    at: i32,
    text: String,
}

#[derive(Serialize)]
struct Position {
    state: &'static str,
    from: i32,
    to: i32,
}

/// The plots on paper, in order.
const PRINTED: [PlotKind; 4] =
    [PlotKind::Holding, PlotKind::Differential, PlotKind::Residence, PlotKind::Flow];

/// The title in full, where there is room.
const fn title(kind: PlotKind) -> &'static str {
    match kind {
        PlotKind::Holding => "Holding temperature",
        PlotKind::Differential => "Regenerator pressure differential (pasteurized over raw)",
        PlotKind::Residence => "Residence time in the holding tube",
        other => other.title(),
    }
}

/// The height over a whole record.
const fn height(kind: PlotKind) -> f64 {
    match kind {
        PlotKind::Holding => 2900.0,
        PlotKind::Differential => 2400.0,
        PlotKind::Residence => 1800.0,
        _ => 1600.0,
    }
}

/// What shows an exception: of one that can't be verified, the two readings that decide.
fn shows(kind: PlotKind, rule: Rule) -> bool {
    if rule == Rule::UNVERIFIABLE {
        matches!(kind, PlotKind::Holding | PlotKind::Differential)
    } else {
        kind.is_about(rule)
    }
}

/// What is drawn again and again of one record.
pub(crate) struct Plotter<'a> {
    case: &'a Case,
    curves: Curves,
}

impl<'a> Plotter<'a> {
    pub(crate) fn new(case: &'a Case) -> Self {
        Self { case, curves: Curves::build(case) }
    }

    /// The plots of the whole record.
    pub(crate) fn day(&self) -> Panel {
        self.panel(self.case.record().interval(), &PRINTED, COLUMNS, true)
    }

    /// The plots around one exception.
    pub(crate) fn around(&self, exception: &Exception) -> Panel {
        let outer = exception.outer;
        let aside = outer.duration().max(LEAST_ASIDE);
        let whole = self.case.record().interval();
        let shown = Interval::between(
            (outer.start() - aside).max(whole.start()),
            (outer.end() + aside).min(whole.end()),
        );
        let kinds: Vec<PlotKind> =
            PRINTED.into_iter().filter(|&kind| shows(kind, exception.rule)).collect();
        self.panel(shown, &kinds, ZOOMED, false)
    }

    fn panel(&self, shown: Interval, kinds: &[PlotKind], columns: usize, whole: bool) -> Panel {
        let zone = self.case.plant().zone;
        let x = |instant: Instant| {
            let span = shown.duration().milliseconds().max(1) as f64;
            let share = instant.since(shown.start()).milliseconds() as f64 / span;
            (share.clamp(0.0, 1.0) * GRID).round() as i32
        };
        let stamp =
            |instant| format!("{} {}", zone.date(instant), case::time_of_day(zone, instant));
        let mut borders = Columns::new();
        borders.set(self.case.record().instants(), shown, columns);
        // On paper the first channel of each is enough.
        let of = |&kind: &PlotKind| {
            let series = Series::of(kind, self.case, &self.curves).into_iter().next()?;
            Some((kind, series))
        };
        let series: Vec<_> = kinds.iter().filter_map(of).collect();
        let height = |kind: PlotKind| match (whole, series.len()) {
            (true, _) => height(kind),
            (false, 1) => 1500.0,
            (false, _) => 1200.0,
        };
        let plots = series
            .iter()
            .map(|&(kind, series)| self.plot((kind, series), &borders, shown, height(kind), x))
            .collect();
        let (bands, flags) = self.bands(shown, x);
        Panel {
            from: stamp(shown.start()),
            to: stamp(shown.end()),
            ticks: time_ticks(shown, zone, 8)
                .into_iter()
                .map(|tick| Tick { at: x(tick.at), label: tick.label })
                .collect(),
            plots,
            bands,
            flags,
            valve: self.positions(shown, x),
        }
    }

    fn plot(
        &self,
        (kind, series): (PlotKind, Series<'_>),
        columns: &Columns,
        shown: Interval,
        height: f64,
        x: impl Fn(Instant) -> i32,
    ) -> Plot {
        let mut lines = Polylines::new();
        series.curve().visible(columns, &mut lines);
        let limits = merged(chart::limits(kind, self.case, shown));
        let unit = series.symbol();
        let divisor = series.divisor();
        let value = |mantissa: i64| mantissa as f64 / divisor;
        let extent = |forward| {
            let extent = series.extent(&lines, shown, forward);
            extent.map(|(least, greatest)| (value(least), value(greatest)))
        };
        let whole = extent(false);
        let figures = limits.iter().map(|limit| limit.figure);
        let scale = Scale::of(kind, extent, figures, 4);
        let scale = scale.unwrap_or_else(|| Scale::around(0.0, 1.0, 4));
        let y = |value: f64| {
            let share = (scale.greatest - value) / (scale.greatest - scale.least);
            // Far beyond the edges it does not matter how far.
            (share.clamp(-10.0, 10.0) * height).round() as i32
        };
        let instants = self.case.record().instants();
        let mut values = lines.mantissas().iter().map(|&mantissa| value(mantissa));
        let mut path: Vec<String> = Vec::new();
        for run in lines.runs() {
            let mut before = None;
            for (&sample, value) in run.iter().zip(values.by_ref()) {
                let Some(&instant) = instants.get(sample as usize) else { continue };
                let point = (x(instant), y(value));
                // What falls on the point before is drawn already.
                if before != Some(point) {
                    let command = if before.is_none() { 'M' } else { 'L' };
                    path.push(format!("{command}{} {}", point.0, point.1));
                    before = Some(point);
                }
            }
            if run.len() == 1 {
                path.push("h0".to_owned());
            }
        }
        let mut heads: Vec<Head> = Vec::new();
        for one in chart::leaving(&lines, value, (scale.least, scale.greatest)) {
            let ends = [one.samples.0, one.samples.1].map(|sample| {
                x(instants.get(sample as usize).copied().unwrap_or_else(|| shown.start()))
            });
            let at = ends[0].midpoint(ends[1]);
            // Those that would lie on one another are one.
            let before = heads.iter().rev().find(|head| head.above == one.above);
            if before.is_none_or(|before| at - before.at >= HEAD) {
                heads.push(Head { at, above: one.above });
            }
        }
        let rules = Rule::ALL.iter().filter(|&&rule| kind.is_about(rule));
        Plot {
            title: title(kind),
            unit,
            height: height as i32,
            alt: alternative(title(kind), unit, whole, &limits, &scale),
            ticks: scale
                .ticks
                .iter()
                .map(|&tick| Tick { at: y(tick), label: scale.label(tick) })
                .collect(),
            limits: limits
                .iter()
                .map(|limit| Limit {
                    from: x(limit.interval.start()),
                    to: x(limit.interval.end()),
                    y: y(limit.figure),
                    label: format!("limit {} {unit}", limit.figure),
                })
                .collect(),
            path: path.concat(),
            rules: rules.map(|rule| rule.key()).collect(),
            cut: !heads.is_empty(),
            heads,
        }
    }

    fn bands(&self, shown: Interval, x: impl Fn(Instant) -> i32) -> (Vec<Band>, Vec<Flag>) {
        let exceptions = &self.case.audit().exceptions;
        let mut bands: Vec<Band> = Vec::new();
        let mut flags: Vec<Flag> = Vec::new();
        let mut named = None;
        let grain = Grain { least: LEAST as f32, apart: 0.0 };
        let ends = |(from, to): (f32, f32)| [from.round() as i32, to.round() as i32];
        for band in chart::bands(exceptions, shown, |at| x(at) as f32, grain, None) {
            let observed = ends(band.observed);
            let cleaning = exceptions.get(band.index).and_then(|one| one.cleaning);
            // A flag at an edge stands inside the plot.
            let middle = observed[0].midpoint(observed[1]).clamp(FLAG / 2, GRID as i32 - FLAG / 2);
            let has_room = flags.last().is_none_or(|last| middle - last.at >= FLAG);
            // A cleaning has one flag for all its exceptions.
            let is_named = cleaning.is_some() && cleaning == named;
            if has_room && !is_named {
                named = cleaning;
                let text = match cleaning {
                    // Its exceptions have no numbers on the pages.
                    Some(number) => format!("C{number}"),
                    None => format!("{} {}", band.index + 1, band.rule.code()),
                };
                flags.push(Flag { rule: band.rule.key(), at: middle, text });
            }
            bands.push(Band { rule: band.rule.key(), outer: ends(band.outer), observed });
        }
        (bands, flags)
    }

    fn positions(&self, shown: Interval, x: impl Fn(Instant) -> i32) -> Vec<Position> {
        let mut positions: Vec<Position> = Vec::new();
        for (state, interval) in chart::positions(self.case, &self.curves, shown) {
            let (from, to) = (x(interval.start()), x(interval.end()));
            let reach = positions.last().map_or(-1, |last| last.to);
            // What is short of the least width must not vanish; what lies under it may.
            if to > reach {
                let to = to.max(from + LEAST).min(GRID as i32);
                positions.push(Position { state: state.name(), from: from.max(reach), to });
            }
        }
        positions
    }
}

/// A plot in a sentence.
fn alternative(
    title: &str,
    unit: &str,
    whole: Option<(f64, f64)>,
    limits: &[LimitStep<'_>],
    scale: &Scale,
) -> String {
    let readings = whole.map_or_else(
        || "no usable reading".to_owned(),
        |(least, greatest)| format!("readings from {least} to {greatest} {unit}"),
    );
    let mut figures: Vec<String> = Vec::new();
    for limit in limits {
        let figure = format!("{} {unit}", limit.figure);
        if !figures.contains(&figure) {
            figures.push(figure);
        }
    }
    let limit = if figures.is_empty() {
        String::new()
    } else {
        format!(", limit {}", figures.join(" and "))
    };
    let shown = format!("{} to {}", scale.label(scale.least), scale.label(scale.greatest));
    format!("Plot of {title}: {readings}{limit}; scale {shown} {unit}")
}
