//! What stands in a list, a line each: episodes, cleanings, observations, margins, passages, and what the
//! record says of the process. The same on a terminal, on paper and in the window.

use crate::figures::{at_least, count, decimal_places, number, recorded, signed, time_of_day};
use crate::limits::limit_words;
use crate::sentences::{DisplayUnits, sentence};
use crate::words::{lethality, plural};
use crate::{Case, LeastResidence};
use analysis::{
    Cleaning, CutVerdict, Episode, Exception, LETHALITY_CAUTION, Margin, Rule, Side, Transition,
    Worst,
};
use plant::Zone;
use trace::{Decimal, Interval, Observation, Unit as _};

impl Case {
    /// An episode in a line: its number, when, and how many exceptions of which rules it has in
    /// production.
    pub fn episode_line(&self, episode: &Episode) -> String {
        let exceptions = &self.audit.exceptions;
        let members: Vec<&Exception> = episode
            .exceptions
            .iter()
            .filter_map(|&index| exceptions.get(index))
            .filter(|one| !one.outside_production)
            .collect();
        format!(
            "episode {}  {}: {}",
            episode.number,
            span(episode.interval, self.plant.zone),
            by_rule(&members)
        )
    }

    /// A cleaning with its exceptions in a line: they are resolved together.
    pub fn cleaning_line(&self, cleaning: &Cleaning) -> String {
        let exceptions = &self.audit.exceptions;
        let members: Vec<&Exception> =
            cleaning.exceptions.iter().filter_map(|&index| exceptions.get(index)).collect();
        format!(
            "cleaning {}  {}: {} outside production, one resolution for all",
            cleaning.number,
            span(cleaning.interval, self.plant.zone),
            by_rule(&members)
        )
    }

    /// The same below its title: when, where in the files, and what to do.
    pub fn observed(&self, observation: &Observation) -> String {
        let zone = self.plant.zone;
        let mut parts = Vec::new();
        if let Some(interval) = observation.interval {
            parts.push(span(interval, zone));
        }
        if let Some(position) = &observation.position {
            parts.push(format!("{} line {}", position.file, position.line));
        }
        let sentence = sentence(observation, zone, DisplayUnits::RECORDED);
        if parts.is_empty() { sentence } else { format!("{}: {sentence}", parts.join(", ")) }
    }

    /// The reading of all forward flow that came closest to its limit, or lies furthest below it;
    /// `None` without any, and for a rule that has no reading to be short of.
    pub fn least_margin(&self, rule: Rule) -> Option<Margin> {
        let within = self.margin_within_limits(rule);
        let short = self.audit.exceptions.iter().filter(|one| one.rule == rule);
        let short = short.filter_map(|one| one.worst).map(|worst| {
            let Worst { value, limit, unit, at } = worst;
            Margin { value, limit, margin: value.to_f64() - limit, unit, at }
        });
        short.chain(within).min_by(|one, other| one.margin.total_cmp(&other.margin))
    }

    fn margin_within_limits(&self, rule: Rule) -> Option<Margin> {
        let margins = &self.audit.margins;
        let of =
            [(Rule::TEMPERATURE, margins.temperature), (Rule::DIFFERENTIAL, margins.differential)];
        of.into_iter().find_map(|(one, margin)| margin.filter(|_| one == rule))
    }

    /// How close forward flow came to each limit, a line each; where it was below, how far, and how close
    /// what was within limits came.
    pub fn margin_lines(&self) -> Vec<String> {
        let told = |margin: Margin| {
            let Margin { value, limit, unit, at, .. } = margin;
            let apart = apart(margin.margin);
            let side = if margin.margin < 0.0 { "below" } else { "above" };
            let (clock, limit) = (self.clock(at), limit_words(limit, unit));
            format!("{} {unit} at {clock}, {apart} {unit} {side} {limit}", recorded(value))
        };
        let line = |name: &str, rule: Rule| {
            let within = self.margin_within_limits(rule).map(told);
            match self.least_margin(rule).filter(|least| least.margin < 0.0) {
                Some(least) => {
                    let within = within.unwrap_or_else(|| "none".to_owned());
                    format!("{name}: {}; in forward flow within limits: {within}", told(least))
                }
                None => {
                    let none = || "no forward flow within limits".to_owned();
                    format!("{name}: {}", within.unwrap_or_else(none))
                }
            }
        };
        vec![
            line("holding temperature", Rule::TEMPERATURE),
            line("pressure differential", Rule::DIFFERENTIAL),
        ]
    }

    /// What the record says of the process and of the instruments, a line each.
    pub fn process_lines(&self) -> Vec<String> {
        let Case { record, plant, audit, .. } = self;
        let mut lines = Vec::new();
        match self.least_residence() {
            Some(LeastResidence { held, minimum, at }) => lines.push(format!(
                "shortest residence time in forward flow: {} at {}, minimum {minimum}",
                at_least(held),
                self.clock(at)
            )),
            None => lines.push("residence time: not available".to_owned()),
        }
        if let Some(certificate) = plant.tube.as_ref().and_then(plant::Tube::certificate) {
            let tested = match (&certificate.tested_on, &certificate.tested_by) {
                (Some(on), Some(by)) => format!("tested on {on} by {by}"),
                (Some(on), None) => format!("tested on {on}, tester not stated"),
                (None, Some(by)) => format!("tested by {by}, date not stated"),
                (None, None) => "date and tester not stated".to_owned(),
            };
            lines.push(format!(
                "holding tube: {} at {} {}, {tested}",
                certificate.test_time,
                certificate.test_flow.value,
                certificate.test_flow.unit.symbol(),
            ));
        }
        for trend in &audit.trends {
            let line = trend.line.map_or_else(
                || "too short for a trend".to_owned(),
                |line| {
                    let told = if line.is_significant() { "" } else { " (no significant drift)" };
                    format!(
                        "{} ± {} {} per hour{told}",
                        signed(line.per_hour, 3),
                        decimal_places(line.uncertainty, 3),
                        trend.unit
                    )
                },
            );
            lines.push(format!(
                "{}: mean {}, lowest {}, highest {} {} over {} min; {line}",
                trend.followed.name(),
                decimal_places(trend.mean, 2),
                decimal_places(trend.least, 2),
                decimal_places(trend.greatest, 2),
                trend.unit,
                trend.minutes.len()
            ));
        }
        if let Some(offset) = audit.instruments.recorder {
            lines.push(format!(
                "recorder minus indicating thermometer in steady forward flow: median {}, from {} to {} \
                 {} ({} samples)",
                signed(offset.median, 2),
                signed(offset.lowest, 2),
                signed(offset.highest, 2),
                offset.unit,
                count(offset.samples)
            ));
        }
        let side = |to: Side| audit.instruments.cuts.iter().filter(move |cut| cut.to == to);
        for (to, name) in [(Side::Forward, "went forward"), (Side::Divert, "left forward flow")] {
            let below = side(to).filter(|cut| cut.verdict == CutVerdict::Below).count();
            let tests = audit.transitions.iter().filter(|one| one.to == to && one.is_test).count();
            let readings: Vec<_> = side(to).filter_map(|cut| cut.temperature).collect();
            if let (Some(least), Some(most)) = (readings.iter().min(), readings.iter().max()) {
                let test = match to {
                    Side::Forward => "cut-in test",
                    Side::Divert => "cut-out test",
                };
                lines.push(format!(
                    "{name} {}, at {} to {} {}, {below} below the limit; {}",
                    plural(side(to).count(), "time"),
                    recorded(*least),
                    recorded(*most),
                    record.holding_temperature().unit().symbol(),
                    plural(tests, test)
                ));
            }
        }
        if let Some(least) = &audit.lethality {
            lines.push(format!(
                "lowest lethality in forward flow within limits: {}",
                lethality(least)
            ));
            lines.push(LETHALITY_CAUTION.to_owned());
        }
        lines
    }

    /// A passage in a line: when, whither, and at which readings.
    pub fn passage_line(&self, transition: &Transition) -> String {
        let Case { record, plant, .. } = self;
        let (name, temperature, differential) = match transition.to {
            Side::Forward => {
                ("went forward", transition.temperature_after, transition.differential_after)
            }
            Side::Divert => {
                ("left forward flow", transition.temperature_before, transition.differential_before)
            }
        };
        let reading = |value: Option<Decimal>, unit: &str| {
            let shown = |value| format!("{} {unit}", recorded(value));
            value.map_or_else(|| "no usable reading".to_owned(), shown)
        };
        let test = match (transition.is_test, transition.to) {
            (false, _) => "",
            (true, Side::Forward) => " (cut-in test)",
            (true, Side::Divert) => " (cut-out test)",
        };
        format!(
            "{} {}  {name} at {} and {}{test}",
            plant.zone.date(transition.at),
            time_of_day(plant.zone, transition.at),
            reading(temperature, record.holding_temperature().unit().symbol()),
            reading(differential, record.differential().unit().symbol()),
        )
    }
}

/// How far a reading is from its limit: thousandths at most, no needless zeros.
pub(crate) fn apart(margin: f64) -> String {
    number(&((margin.abs() * 1000.0).round() / 1000.0).to_string())
}

/// An interval with its dates: `2026-03-04 05:00:00 to 2026-03-04 17:00:00`.
pub(crate) fn span(interval: Interval, zone: Zone) -> String {
    let (start, end) = (interval.start(), interval.end());
    let (day, last) = (zone.date(start), zone.date(end));
    let until = if day == last { String::new() } else { format!("{last} ") };
    if start == end {
        return format!("{day} {}", time_of_day(zone, start));
    }
    format!("{day} {} to {until}{}", time_of_day(zone, start), time_of_day(zone, end))
}

/// `3 exceptions (temperature 2, not verifiable 1)`
fn by_rule(members: &[&Exception]) -> String {
    let rules: Vec<String> = Rule::ALL
        .iter()
        .map(|&rule| (rule, members.iter().filter(|one| one.rule == rule).count()))
        .filter(|&(_, count)| count > 0)
        .map(|(rule, count)| format!("{} {count}", rule.name()))
        .collect();
    format!("{} ({})", plural(members.len(), "exception"), rules.join(", "))
}
