//! The exceptions of the rules that compare a reading with a limit, and what every exception is
//! made of (method, section 4).

use crate::crossing::{Point, area_below, crossing, on_line};
use crate::exception::{Cause, Exception, Rule, Shortfall, Worst};
use crate::lethality;
use crate::limits::{DifferentialLimit, LimitSpan, shortfall_symbol};
use crate::residence::Residence;
use crate::runs::{Reading, Run, Verdicts};
use crate::volume::volume;
use plant::{Mode, Plant};
use sha2::{Digest, Sha256};
use std::cmp::Ordering;
use trace::{
    Decimal, Instant, Interval, Ratio, RunRecord, TextChannel, Unit, hexadecimal, power_of_ten,
};

/// What the searches share.
pub(crate) struct Context<'a> {
    pub record: &'a RunRecord,
    pub plant: &'a Plant,
    pub verdicts: &'a Verdicts<'a>,
    pub spans: &'a [LimitSpan],
    pub floor: DifferentialLimit,
    pub residence: Option<&'a Residence>,
}

/// The parts of an exception that its rule decides.
#[derive(Clone, Copy)]
pub(crate) struct Found {
    pub rule: Rule,
    pub cause: Cause,
    pub samples: Run,
    pub observed: Interval,
    pub outer: Interval,
    pub estimate: Interval,
    pub worst: Option<Worst>,
    pub shortfall: Option<Shortfall>,
    pub within_response: bool,
}

impl Context<'_> {
    /// The exception with its figures that do not depend on the rule.
    pub fn complete(&self, found: Found) -> Exception {
        let Found {
            rule,
            cause,
            samples,
            observed,
            outer,
            estimate,
            worst,
            shortfall,
            within_response,
        } = found;
        let record = self.record;
        let words =
            |text: Option<&TextChannel>| text.map_or_else(Vec::new, |text| words(text, samples));
        let mode = self.mode_at(samples.0);
        Exception {
            id: id(record.unit(), rule, cause, observed.start()),
            rule,
            cause,
            samples,
            observed,
            outer,
            estimate,
            worst,
            shortfall,
            lethality: lethality::least(self, samples.0..=samples.1),
            volume: volume(record, self.plant, self.verdicts, estimate, outer),
            products: words(record.product()),
            lots: words(record.lot()),
            shift: self.plant.shift_at(observed.start()).map(|shift| shift.name.clone()),
            mode,
            within_response,
            episode: 0,
        }
    }

    pub fn mode(&self, word: &str) -> Mode {
        self.plant.columns.mode_words.mode(word)
    }

    /// What the line was doing at a sample; production where nothing says otherwise.
    pub fn mode_at(&self, sample: usize) -> Mode {
        self.record.mode().map_or(Mode::Production, |text| self.mode(text.word(sample)))
    }

    /// The limit span that holds at a sample.
    pub fn span(&self, sample: usize) -> &LimitSpan {
        let index = self.spans.partition_point(|span| span.last < sample);
        &self.spans[index.min(self.spans.len() - 1)]
    }
}

/// The distinct words of a run, in order, blanks left out.
fn words(text: &TextChannel, (first, last): Run) -> Vec<String> {
    let mut seen: Vec<u32> = Vec::new();
    for &code in text.codes().iter().take(last + 1).skip(first) {
        if seen.last() != Some(&code) && !seen.contains(&code) {
            seen.push(code);
        }
    }
    seen.into_iter()
        .filter_map(|code| text.words().get(code as usize))
        .filter(|word| !word.is_empty())
        .cloned()
        .collect()
}

/// The first 48 bits of the SHA-256 of unit, rule and first instant. A gap begins at the instant
/// of the sample before it, where another run may begin as well; so it has a word more.
fn id(unit: &str, rule: Rule, cause: Cause, first: Instant) -> String {
    let mut digest = Sha256::new();
    digest.update(unit.as_bytes());
    digest.update([0]);
    digest.update(rule.key().as_bytes());
    digest.update([0]);
    digest.update(first.unix_milliseconds().to_string().as_bytes());
    if cause == Cause::Gap {
        digest.update(b"\0gap");
    }
    hexadecimal(&digest.finalize()[..6])
}

/// A rule's channel and limits, whatever its unit.
struct Judged<'a> {
    reading: Reading,
    rule: Rule,
    mantissas: &'a [i64],
    scale: u8,
    symbol: &'static str,
    shortfall_symbol: &'static str,
}

/// The exceptions of the temperature and the differential rule.
pub(crate) fn named(context: &Context<'_>) -> Vec<Exception> {
    let temperature = context.record.holding_temperature();
    let differential = context.record.differential();
    let judged = [
        Judged {
            reading: Reading::Temperature,
            rule: Rule::Temperature,
            mantissas: temperature.mantissas(),
            scale: temperature.scale(),
            symbol: temperature.unit().symbol(),
            shortfall_symbol: shortfall_symbol(temperature.unit()),
        },
        Judged {
            reading: Reading::Differential,
            rule: Rule::Differential,
            mantissas: differential.mantissas(),
            scale: differential.scale(),
            symbol: differential.unit().symbol(),
            shortfall_symbol: shortfall_symbol(differential.unit()),
        },
    ];
    let verdicts = context.verdicts;
    let mut exceptions = Vec::new();
    for judged in &judged {
        let runs = verdicts.runs(|sample| {
            verdicts.is_forward(sample) && verdicts.is_short(sample, judged.reading)
        });
        exceptions.extend(runs.into_iter().map(|run| judged.exception(context, run)));
    }
    exceptions
}

/// The exceptions of the holding time rule, from midpoint to midpoint.
pub(crate) fn held_short(context: &Context<'_>) -> Vec<Exception> {
    let verdicts = context.verdicts;
    let runs =
        verdicts.runs(|sample| verdicts.is_forward(sample) && verdicts.is_held_short(sample));
    runs.into_iter()
        .map(|run| {
            context.complete(Found {
                rule: Rule::HoldingTime,
                cause: Cause::Short,
                samples: run,
                observed: verdicts.observed(run),
                outer: verdicts.outer(run),
                estimate: verdicts.between_midpoints(run),
                worst: shortest(context, run),
                shortfall: None,
                within_response: false,
            })
        })
        .collect()
}

/// The residence time furthest below its minimum; `None` where none is known, at start-up.
fn shortest(context: &Context<'_>, (first, last): Run) -> Option<Worst> {
    let residence = context.residence?;
    let mut worst: Option<(i64, usize)> = None;
    for sample in first..=last {
        let Some(held) = residence.at(sample) else { continue };
        let short = (context.span(sample).minimum_time.milliseconds()) - held.milliseconds();
        if worst.is_none_or(|(most, _)| short > most) {
            worst = Some((short, sample));
        }
    }
    let (_, sample) = worst?;
    let held = residence.at(sample)?;
    Some(Worst {
        value: Decimal::new(held.milliseconds(), 3),
        limit: context.span(sample).minimum_time.seconds(),
        unit: "s",
        at: context.record.instants()[sample],
    })
}

impl Judged<'_> {
    fn exception(&self, context: &Context<'_>, run: Run) -> Exception {
        let verdicts = context.verdicts;
        let estimate = Interval::between(
            self.edge(context, run.0, verdicts.before(run.0)),
            self.edge(context, run.1, verdicts.after(run.1)),
        );
        let within_response = estimate.duration() <= context.plant.limits.response_allowance
            && verdicts.after(run.1).is_some_and(|after| !verdicts.is_forward(after));
        context.complete(Found {
            rule: self.rule,
            cause: Cause::Short,
            samples: run,
            observed: verdicts.observed(run),
            outer: verdicts.outer(run),
            estimate,
            worst: Some(self.worst(context, run)),
            shortfall: Some(self.shortfall(context, run, estimate)),
            within_response,
        })
    }

    fn limit(&self, context: &Context<'_>, sample: usize) -> Ratio {
        match self.reading {
            Reading::Temperature => context.span(sample).exact,
            Reading::Differential => context.floor.exact,
        }
    }

    fn point(&self, context: &Context<'_>, sample: usize) -> Point {
        Point { at: context.record.instants()[sample], mantissa: self.mantissas[sample] }
    }

    fn value(&self, sample: usize) -> f64 {
        Decimal::new(self.mantissas[sample], self.scale).to_f64()
    }

    /// The estimated end of a run on the side of `neighbour`.
    fn edge(&self, context: &Context<'_>, sample: usize, neighbour: Option<usize>) -> Instant {
        let own = self.point(context, sample);
        let Some(neighbour) = neighbour else {
            return own.at;
        };
        let verdicts = context.verdicts;
        let other = self.point(context, neighbour);
        let limit = self.limit(context, sample);
        let crosses = verdicts.is_forward(neighbour)
            && verdicts.is_legal_for(neighbour, self.reading)
            && other.mantissa >= limit.floor_mantissa(self.scale);
        if !crosses {
            // Not forward, not valid, or legal only for another product's limit.
            return own.at.midpoint(other.at);
        }
        if other.at < own.at {
            crossing(other, own, self.scale, limit)
        } else {
            crossing(own, other, self.scale, limit)
        }
    }

    fn worst(&self, context: &Context<'_>, (first, last): Run) -> Worst {
        let short_of = |sample: usize| {
            let limit = self.limit(context, sample);
            let mantissa = i128::from(self.mantissas[sample]) * limit.denominator();
            Ratio::new(
                limit.numerator() * i128::from(power_of_ten(self.scale)) - mantissa,
                limit.denominator(),
            )
        };
        let mut worst = first;
        match self.reading {
            // One limit throughout: the least reading.
            Reading::Differential => {
                for sample in first..=last {
                    if self.mantissas[sample] < self.mantissas[worst] {
                        worst = sample;
                    }
                }
            }
            Reading::Temperature => {
                let mut greatest: Option<Ratio> = None;
                let mut sample = first;
                while sample <= last {
                    let end = context.span(sample).last.min(last);
                    let mut least = sample;
                    for other in sample..=end {
                        if self.mantissas[other] < self.mantissas[least] {
                            least = other;
                        }
                    }
                    let short = short_of(least);
                    if greatest.is_none_or(|held| compare(short, held) == Ordering::Greater) {
                        greatest = Some(short);
                        worst = least;
                    }
                    sample = end + 1;
                }
            }
        }
        Worst {
            value: Decimal::new(self.mantissas[worst], self.scale),
            limit: self.limit(context, worst).to_f64(),
            unit: self.symbol,
            at: context.record.instants()[worst],
        }
    }

    /// The area between the limit and the readings. On a step between two samples of the run the
    /// limit of the first one holds; beyond the run's ends the line to a valid neighbour is
    /// followed, and the last reading is held where there is none.
    fn shortfall(&self, context: &Context<'_>, run: Run, estimate: Interval) -> Shortfall {
        let instants = context.record.instants();
        let (first, last) = run;
        let mut area = 0.0;
        for sample in first..last {
            area += area_below(
                instants[sample],
                instants[sample + 1],
                self.value(sample),
                self.value(sample + 1),
                self.limit(context, sample).to_f64(),
            );
        }
        let valid =
            |sample: usize| trace::ChannelView::is_valid(self.mantissas[sample]).then_some(sample);
        let edge = |sample: usize, neighbour: Option<usize>, end: Instant| {
            let own = self.value(sample);
            let at_end = neighbour.and_then(valid).map_or(own, |neighbour| {
                on_line(instants[sample], instants[neighbour], own, self.value(neighbour), end)
            });
            let part = Interval::between(instants[sample], end);
            let limit = self.limit(context, sample).to_f64();
            // The area does not depend on the direction in time.
            area_below(part.start(), part.end(), own, at_end, limit)
        };
        area += edge(first, context.verdicts.before(first), estimate.start());
        area += edge(last, context.verdicts.after(last), estimate.end());
        Shortfall { value: area, unit: self.shortfall_symbol }
    }
}

fn compare(one: Ratio, other: Ratio) -> Ordering {
    let exact = one
        .numerator()
        .checked_mul(other.denominator())
        .zip(other.numerator().checked_mul(one.denominator()));
    match exact {
        Some((left, right)) => left.cmp(&right),
        None => one.to_f64().total_cmp(&other.to_f64()),
    }
}
