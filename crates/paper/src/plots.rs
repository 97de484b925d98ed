//! The plots as figures that a template only has to draw: paths of real readings, limits, bands of
//! exceptions and the valve's positions. Across, a plot has 10,000 units, from the left; its height
//! is in the same units, from the top.

use analysis::{Audit, Exception, Rule};
use case::{Case, Scale, time_ticks};
use plant::Plant;
use pyramid::{Columns, Curve, Polylines, Pyramid, StateRuns};
use serde::Serialize;
use trace::{Duration, Instant, Interval, Role, RunRecord, ValveState};

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

/// What a plot is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Temperature,
    Differential,
    Residence,
    Flow,
}

impl Kind {
    const ALL: [Self; 4] = [Self::Temperature, Self::Differential, Self::Residence, Self::Flow];

    const fn title(self) -> &'static str {
        match self {
            Self::Temperature => "Holding temperature",
            Self::Differential => "Differential pressure, pasteurized minus raw",
            Self::Residence => "Residence time in the holding tube",
            Self::Flow => "Flow",
        }
    }

    fn rules(self) -> Vec<&'static str> {
        let rules: &[Rule] = match self {
            Self::Temperature => &[Rule::Temperature, Rule::Unverifiable],
            Self::Differential => &[Rule::Differential, Rule::Unverifiable],
            Self::Residence => &[Rule::HoldingTime, Rule::Unverifiable],
            Self::Flow => &[],
        };
        rules.iter().map(|rule| rule.key()).collect()
    }

    /// The height over a whole record.
    const fn height(self) -> f64 {
        match self {
            Self::Temperature => 2900.0,
            Self::Differential => 2400.0,
            Self::Residence => 1800.0,
            Self::Flow => 1600.0,
        }
    }

    /// What shows an exception.
    const fn of(rule: Rule) -> &'static [Self] {
        match rule {
            Rule::Temperature => &[Self::Temperature],
            Rule::Differential => &[Self::Differential],
            Rule::HoldingTime => &[Self::Residence, Self::Flow],
            Rule::Unverifiable => &[Self::Temperature, Self::Differential],
        }
    }
}

/// A channel, or what the audit worked out for every sample.
struct Series<'a> {
    kind: Kind,
    unit: &'static str,
    scale: u8,
    mantissas: &'a [i64],
    pyramid: Pyramid,
}

impl Series<'_> {
    fn value(&self, mantissa: i64) -> f64 {
        mantissa as f64 / trace::power_of_ten(self.scale) as f64
    }
}

/// What is drawn again and again of one record.
pub(crate) struct Plotter<'a> {
    record: &'a RunRecord,
    plant: &'a Plant,
    audit: &'a Audit,
    series: Vec<Series<'a>>,
    valve: StateRuns<ValveState>,
}

impl<'a> Plotter<'a> {
    pub(crate) fn new(case: &'a Case) -> Self {
        let (record, plant, audit) = (case.record(), case.plant(), case.audit());
        let of_channel = |kind, role| {
            let channel = record.channel(role)?;
            let (unit, scale, mantissas) = (channel.symbol(), channel.scale(), channel.mantissas());
            let pyramid = Pyramid::build(mantissas);
            Some(Series { kind, unit, scale, mantissas, pyramid })
        };
        let series = Kind::ALL.into_iter().filter_map(|kind| match kind {
            Kind::Temperature => of_channel(kind, Role::HoldingTemperature),
            Kind::Differential => of_channel(kind, Role::DifferentialPressure),
            Kind::Flow => of_channel(kind, Role::FlowRate),
            Kind::Residence => {
                let mantissas = audit.residence.as_ref()?.milliseconds();
                let pyramid = Pyramid::build(mantissas);
                Some(Series { kind, unit: "s", scale: 3, mantissas, pyramid })
            }
        });
        let series = series.collect();
        Self { record, plant, audit, series, valve: StateRuns::build(record.valve()) }
    }

    /// The plots of the whole record.
    pub(crate) fn day(&self) -> Panel {
        self.panel(self.record.interval(), &Kind::ALL, COLUMNS, true)
    }

    /// The plots around one exception.
    pub(crate) fn around(&self, exception: &Exception) -> Panel {
        let outer = exception.outer;
        let aside = outer.duration().max(LEAST_ASIDE);
        let whole = self.record.interval();
        let shown = Interval::between(
            (outer.start() - aside).max(whole.start()),
            (outer.end() + aside).min(whole.end()),
        );
        self.panel(shown, Kind::of(exception.rule), ZOOMED, false)
    }

    fn panel(&self, shown: Interval, kinds: &[Kind], columns: usize, forward: bool) -> Panel {
        let zone = self.plant.zone;
        let x = |instant: Instant| {
            let span = shown.duration().milliseconds().max(1) as f64;
            let share = instant.since(shown.start()).milliseconds() as f64 / span;
            (share.clamp(0.0, 1.0) * GRID).round() as i32
        };
        let stamp = |instant| format!("{} {}", zone.date(instant), zone.clock(instant));
        let mut borders = Columns::new();
        borders.set(self.record.instants(), shown, columns);
        let series = || self.series.iter().filter(|series| kinds.contains(&series.kind));
        let is_alone = series().count() < 2;
        let height = |kind: Kind| match (forward, is_alone) {
            (true, _) => kind.height(),
            (false, true) => 1500.0,
            (false, false) => 1200.0,
        };
        let plots = series()
            .map(|series| self.plot(series, &borders, shown, height(series.kind), forward, x))
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

    /// The limits in force while `shown`, with their first and last instant.
    fn limits(&self, series: &Series<'_>, shown: Interval) -> Vec<(Interval, f64)> {
        let span = |of: fn(&analysis::LimitSpan) -> f64| {
            let spans = self.audit.temperature_limits.iter();
            let mut steps: Vec<(Interval, f64)> = Vec::new();
            for span in spans {
                let instants = self.record.instants();
                let end = instants.get(span.last + 1).or(instants.get(span.last));
                let (Some(&start), Some(&end)) = (instants.get(span.first), end) else { continue };
                let interval = Interval::between(start, end);
                match steps.last_mut() {
                    // The same figure for another product goes on.
                    Some((last, figure)) if (*figure - of(span)).abs() < 1e-9 => {
                        *last = last.hull(interval);
                    }
                    _ => steps.push((interval, of(span))),
                }
            }
            steps
        };
        let mut limits = match series.kind {
            Kind::Temperature => span(|span| span.limit),
            Kind::Differential => vec![(shown, self.audit.differential_limit)],
            Kind::Residence => span(|span| span.minimum_time.seconds()),
            Kind::Flow => Vec::new(),
        };
        limits.retain(|(interval, _)| interval.overlaps(shown));
        limits
    }

    fn plot(
        &self,
        series: &Series<'_>,
        columns: &Columns,
        shown: Interval,
        height: f64,
        forward: bool,
        x: impl Fn(Instant) -> i32,
    ) -> Plot {
        let mut lines = Polylines::new();
        let curve =
            Curve { mantissas: series.mantissas, gaps: &self.audit.gaps, pyramid: &series.pyramid };
        curve.visible(columns, &mut lines);
        let limits = self.limits(series, shown);
        let instants = self.record.instants();
        let mut readings: Vec<(usize, f64)> = Vec::new();
        for (&sample, &mantissa) in lines.samples().iter().zip(lines.mantissas()) {
            let sample = sample as usize;
            if instants.get(sample).is_some_and(|&instant| shown.contains(instant)) {
                readings.push((sample, series.value(mantissa)));
            }
        }
        let least_and_greatest = |values: &mut dyn Iterator<Item = f64>| {
            values.fold(None, |range: Option<(f64, f64)>, value| {
                let (least, greatest) = range.unwrap_or((value, value));
                Some((least.min(value), greatest.max(value)))
            })
        };
        let whole = least_and_greatest(&mut readings.iter().map(|(_, value)| *value));
        let is_forward =
            |sample: usize| self.record.valve().get(sample) == Some(&ValveState::Forward);
        let in_forward = least_and_greatest(
            &mut readings.iter().filter(|(sample, _)| is_forward(*sample)).map(|(_, value)| *value),
        );
        // Over a day the scale follows forward flow, so that it is not set by a cold start.
        let follows = forward && series.kind != Kind::Flow;
        let of_readings = if follows { in_forward.or(whole) } else { whole };
        let zero = (series.kind == Kind::Flow).then_some(0.0);
        let range = least_and_greatest(
            &mut of_readings
                .into_iter()
                .flat_map(|(least, greatest)| [least, greatest])
                .chain(limits.iter().map(|(_, figure)| *figure))
                .chain(zero),
        );
        let (least, greatest) = range.unwrap_or((0.0, 1.0));
        let scale = Scale::around(least, greatest, 4);
        let y = |value: f64| {
            let share = (scale.greatest - value) / (scale.greatest - scale.least);
            // Far beyond the edges it does not matter how far.
            (share.clamp(-10.0, 10.0) * height).round() as i32
        };
        let mut values = lines.mantissas().iter().map(|&mantissa| series.value(mantissa));
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
        let cut =
            whole.is_some_and(|(least, greatest)| least < scale.least || greatest > scale.greatest);
        Plot {
            title: series.kind.title(),
            unit: series.unit,
            height: height as i32,
            alt: alternative(series, whole, &limits, &scale),
            ticks: scale
                .ticks
                .iter()
                .map(|&tick| Tick { at: y(tick), label: scale.label(tick) })
                .collect(),
            limits: limits
                .iter()
                .map(|&(interval, figure)| Limit {
                    from: x(interval.start()),
                    to: x(interval.end()),
                    y: y(figure),
                    label: format!("limit {figure} {}", series.unit),
                })
                .collect(),
            path: path.concat(),
            rules: series.kind.rules(),
            cut,
        }
    }

    fn bands(&self, shown: Interval, x: impl Fn(Instant) -> i32) -> (Vec<Band>, Vec<Flag>) {
        let mut bands: Vec<Band> = Vec::new();
        let mut flags: Vec<Flag> = Vec::new();
        let mut named = None;
        let mut reach = [i32::MIN; Rule::ALL.len()];
        for (index, exception) in self.audit.exceptions.iter().enumerate() {
            let (outer, rule) = (exception.outer, exception.rule);
            if outer.end() < shown.start() || outer.start() > shown.end() {
                continue;
            }
            let wide = |interval: Interval| {
                let (from, to) = (x(interval.start()), x(interval.end()));
                let more = (LEAST - (to - from)).max(0) / 2;
                [from - more, to + more]
            };
            let (outer, observed) = (wide(outer), wide(exception.observed));
            // Where a band of the same rule is drawn already, another would not be seen.
            let reach = &mut reach[rule as usize];
            if outer[1] <= *reach {
                continue;
            }
            *reach = outer[1];
            // A flag at an edge stands inside the plot.
            let middle = observed[0].midpoint(observed[1]).clamp(FLAG / 2, GRID as i32 - FLAG / 2);
            let has_room = flags.last().is_none_or(|last| middle - last.at >= FLAG);
            // A cleaning has one flag for all its exceptions.
            let is_named = exception.cleaning.is_some() && exception.cleaning == named;
            if has_room && !is_named {
                named = exception.cleaning;
                let text = match exception.cleaning {
                    // Its exceptions have no numbers on the pages.
                    Some(number) => format!("C{number}"),
                    None => format!("{} {}", index + 1, rule.code()),
                };
                flags.push(Flag { rule: rule.key(), at: middle, text });
            }
            bands.push(Band { rule: rule.key(), outer, observed });
        }
        (bands, flags)
    }

    fn positions(&self, shown: Interval, x: impl Fn(Instant) -> i32) -> Vec<Position> {
        let instants = self.record.instants();
        let gaps = &self.audit.gaps;
        let first = instants.partition_point(|&at| at < shown.start()).saturating_sub(1);
        let end = (instants.partition_point(|&at| at <= shown.end()) + 1).min(instants.len());
        let mut positions: Vec<Position> = Vec::new();
        // A side of a run lies half a step away, unless a gap is there.
        let border = |before: usize| match (instants.get(before), instants.get(before + 1)) {
            (Some(&one), Some(&other)) if gaps.binary_search(&before).is_err() => {
                Some(one.midpoint(other))
            }
            _ => None,
        };
        for run in self.valve.visible(first..end) {
            let mut start = run.first;
            let inside = gaps.partition_point(|&gap| gap < run.first);
            let within = gaps[inside..].iter().copied().take_while(|&gap| gap < run.last);
            for last in within.chain([run.last]) {
                let from = start.checked_sub(1).and_then(border);
                let from = from.or(instants.get(start).copied());
                let to = border(last).or(instants.get(last).copied());
                start = last + 1;
                let (Some(from), Some(to)) = (from, to) else { continue };
                if to < shown.start() || from > shown.end() {
                    continue;
                }
                let (from, to) = (x(from), x(to));
                let reach = positions.last().map_or(-1, |last| last.to);
                // What is short of the least width must not vanish; what lies under it may.
                if to > reach {
                    let to = to.max(from + LEAST).min(GRID as i32);
                    positions.push(Position { state: run.state.name(), from: from.max(reach), to });
                }
            }
        }
        positions
    }
}

/// A plot in a sentence.
fn alternative(
    series: &Series<'_>,
    whole: Option<(f64, f64)>,
    limits: &[(Interval, f64)],
    scale: &Scale,
) -> String {
    let unit = series.unit;
    let readings = whole.map_or_else(
        || "no usable reading".to_owned(),
        |(least, greatest)| format!("readings from {least} to {greatest} {unit}"),
    );
    let mut figures: Vec<String> = Vec::new();
    for (_, figure) in limits {
        let figure = format!("{figure} {unit}");
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
    format!("Plot of {}: {readings}{limit}; scale {shown} {unit}", series.kind.title())
}
