//! Exceptions (section 4), what cannot be verified (section 5), episodes and bundles of cleaning.

use super::rules::{NAMED, READINGS};
use super::{Answer, Bundle, Day, Finding, Hole, Residence, Run, Sample, Span, Worst, half_way};
use crate::exact::Exact;
use analysis::{Cause, Rule};
use plant::Mode;
use std::collections::{BTreeMap, BTreeSet};
use trace::{TemperatureUnit, ValveState};

impl Day<'_> {
    /// Where the run's edge between `inside` and its neighbour `outside` is estimated.
    fn edge(&self, rule: Rule, inside: usize, outside: Option<usize>) -> i64 {
        let Some(outside) = outside else { return self.samples[inside].at };
        let (inside, outside) = (&self.samples[inside], &self.samples[outside]);
        let middle = half_way(inside.at, outside.at);
        let of_reading = READINGS.contains(&rule);
        if !of_reading || !outside.judged() || outside.answer(rule) != Answer::Legal {
            return middle;
        }
        let limit = inside.limit(rule);
        match (inside.reading(rule), outside.reading(rule)) {
            (Some(short), Some(legal)) if legal >= limit => {
                let part = (legal - limit).over(legal - short);
                let step = Exact::whole(inside.at - outside.at);
                (Exact::whole(outside.at) + step * part).rounded_half_up()
            }
            _ => middle,
        }
    }

    /// The exception of a run of samples.
    fn of_run(&self, rule: Rule, causes: Vec<Cause>, run: Run) -> Finding {
        let (before, after) = (self.before(run.0), self.after(run.1));
        let observed = (self.samples[run.0].at, self.samples[run.1].at);
        let outer =
            (self.samples[before.unwrap_or(run.0)].at, self.samples[after.unwrap_or(run.1)].at);
        let estimate = (self.edge(rule, run.0, before), self.edge(rule, run.1, after));
        let mut finding = self.finding(rule, causes, run, [observed, outer, estimate]);
        let lasted = |span: Span| span.1 - span.0;
        let diverted = after.is_some_and(|next| !self.samples[next].exposed());
        if rule != Rule::UNVERIFIABLE && diverted {
            finding.response = Some((lasted(observed), lasted(estimate), lasted(outer)));
        }
        let allowance = self.plant.limits.response_allowance.milliseconds();
        if READINGS.contains(&rule) {
            finding.shortfall = Some(self.shortfall(rule, run, estimate));
            finding.within_response = diverted && lasted(estimate) <= allowance;
        }
        finding.worst = self.furthest(rule, run);
        finding
    }

    /// The exception of a hole or of a double span: the whole of it.
    fn of_span(&self, cause: Vec<Cause>, samples: Run, span: Span) -> Finding {
        self.finding(Rule::UNVERIFIABLE, cause, samples, [span; 3])
    }

    fn finding(
        &self,
        rule: Rule,
        causes: Vec<Cause>,
        samples: Run,
        [observed, outer, estimate]: [Span; 3],
    ) -> Finding {
        let mut positions: Vec<ValveState> = Vec::new();
        for sample in &self.samples[samples.0..=samples.1] {
            if !positions.contains(&sample.valve) {
                positions.push(sample.valve);
            }
        }
        // What passed went into a tank, and the exception may have been as long as its outer
        // interval. A lot holds from the first sample that carries it until the next, so of the
        // sample at the outer end no time lies inside, but for a sample of the run itself.
        let touches = |from: i64, to: i64| {
            from < outer.1 && outer.0 < to || from <= observed.1 && observed.0 < to
        };
        let [mut products, mut lots, mut tanks] = [const { BTreeSet::new() }; 3];
        let add = |words: &mut BTreeSet<String>, word: &str| {
            if !word.is_empty() {
                words.insert(word.to_owned());
            }
        };
        for (index, sample) in self.samples.iter().enumerate() {
            let until = self.samples.get(index + 1).map_or(sample.at + 1, |next| next.at);
            if touches(sample.at, until) {
                add(&mut products, self.record.product().map_or("", |words| words.word(index)));
                add(&mut lots, self.record.lot().map_or("", |words| words.word(index)));
            }
        }
        // A row without a place may be of any time between those that have one. Two rows of one instant
        // may name two lots in one word.
        for group in self.record.unplaced() {
            let (from, to) = (group.interval.start(), group.interval.end());
            if from.unix_milliseconds() <= outer.1 && outer.0 <= to.unix_milliseconds() {
                for row in &group.rows {
                    add(&mut products, &row.product);
                    add(&mut lots, &row.lot);
                }
            }
        }
        for run in self.record.run_sheet().into_iter().flat_map(trace::RunSheet::runs) {
            let (start, end) = (run.interval.start(), run.interval.end());
            if touches(start.unix_milliseconds(), end.unix_milliseconds()) {
                add(&mut products, &run.product);
                add(&mut lots, &run.lot);
                add(&mut tanks, &run.tank);
            }
        }
        lots = lots.iter().flat_map(|lot| lot.split(trace::BOTH)).map(str::to_owned).collect();
        let (volume, _) = self.volume(estimate);
        let (outer_volume, basis) = self.volume(outer);
        Finding {
            rule,
            causes,
            samples,
            observed,
            outer,
            estimate,
            worst: None,
            shortfall: None,
            volume,
            outer_volume,
            basis,
            products,
            lots,
            tanks,
            positions,
            mode: self.samples[samples.0].mode,
            response: None,
            within_response: false,
            outside_production: false,
            cleaning: None,
            episode: 0,
            unplaced: None,
        }
    }

    pub(super) fn worst(&self, rule: Rule, run: Run) -> Option<Worst> {
        let mut worst: Option<Worst> = None;
        for sample in &self.samples[run.0..=run.1] {
            let (Some(value), limit) = (sample.reading(rule), sample.limit(rule)) else { continue };
            if worst.as_ref().is_none_or(|worst| limit - value > worst.limit - worst.value) {
                worst = Some(Worst { value, limit, at: sample.at });
            }
        }
        worst
    }

    /// The residence time furthest below its minimum, in seconds, of those that are known.
    pub(super) fn shortest(&self, run: Run) -> Option<Worst> {
        let mut worst: Option<(i64, Worst)> = None;
        for sample in &self.samples[run.0..=run.1] {
            let Residence::Known(held, _) = sample.residence else { continue };
            let minimum = sample.limit.minimum_time;
            if worst.as_ref().is_none_or(|(most, _)| minimum - held > *most) {
                let value = Exact::new(i128::from(held), 1000);
                let limit = Exact::new(i128::from(minimum), 1000);
                worst = Some((minimum - held, Worst { value, limit, at: sample.at }));
            }
        }
        worst.map(|(_, worst)| worst)
    }

    /// Limit minus reading, integrated over the estimate where it is positive, in unit-seconds.
    fn shortfall(&self, rule: Rule, run: Run, estimate: Span) -> f64 {
        let mut sum = 0.0;
        let last_step = (run.1 + 1).min(self.last());
        for step in run.0.saturating_sub(1)..last_step {
            let (from, to) = (&self.samples[step], &self.samples[step + 1]);
            let part = (estimate.0.max(from.at), estimate.1.min(to.at));
            if part.0 >= part.1 {
                continue;
            }
            // The limit of the run's own sample; inside the run the one of the sample before holds
            // until the next.
            let limit = if step < run.0 { to.limit(rule) } else { from.limit(rule) };
            // A neighbour that can't be read leaves the run's own reading to stand.
            let (start, end) = match (from.reading(rule), to.reading(rule)) {
                (Some(start), Some(end)) => (start, end),
                (Some(only), None) | (None, Some(only)) => (only, only),
                (None, None) => continue,
            };
            let below = |at: i64| {
                let way = Exact::new(i128::from(at - from.at), i128::from(to.at - from.at));
                limit - (start + (end - start) * way)
            };
            let (below_start, below_end) = (below(part.0), below(part.1));
            let (one, other) = (below_start.max(below_end), below_start.min(below_end));
            let width = (part.1 - part.0) as f64;
            if other >= Exact::ZERO {
                sum += f64::midpoint(one.to_f64(), other.to_f64()) * width;
            } else if one > Exact::ZERO {
                // A triangle up to where the line meets the limit.
                sum += one.to_f64() / 2.0 * width * one.over(one - other).to_f64();
            }
        }
        sum / 1000.0
    }

    /// Whether a run of forward and travelling samples is more than a device that passes through
    /// its travel in time.
    fn counts(&self, run: Run) -> bool {
        let forward = self.samples[run.0..=run.1].iter().any(Sample::forward);
        forward || self.span_of(run) > self.plant.limits.response_allowance.milliseconds()
    }

    /// Whether a run lies inside an exposed hole. The hole is an exception of the same rule, from end
    /// to end, and holds even the outer interval of the run: one more would say no more.
    fn is_inside_a_hole(&self, run: Run) -> bool {
        let inside = |hole: &Hole| hole.samples.0 < run.0 && run.1 < hole.samples.1;
        self.holes.iter().any(|hole| hole.exposed && inside(hole))
    }

    /// All exceptions, in order of estimate, rule, samples, causes.
    pub(super) fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        for rule in NAMED {
            let short = |sample: &Sample| sample.judged() && sample.answer(rule) == Answer::Short;
            for run in self.runs(short).into_iter().filter(|&run| self.counts(run)) {
                findings.push(self.of_run(rule, vec![Cause::Short], run));
            }
        }
        let why = |sample: usize| self.samples[sample].causes();
        let unknown = |sample: usize| !why(sample).is_empty();
        // The device lingers for as long as nothing is shown, for one cause or several in turn.
        let whole = self.runs_that_continue(unknown, |_, _| true);
        let lingers = |run: Run| {
            whole.iter().any(|whole| whole.0 <= run.0 && run.1 <= whole.1 && self.counts(*whole))
        };
        for run in self.runs_that_continue(unknown, |one, other| why(one) == why(other)) {
            if !lingers(run) || self.is_inside_a_hole(run) {
                continue;
            }
            findings.push(self.of_run(Rule::UNVERIFIABLE, why(run.0).into_iter().collect(), run));
        }
        for run in self.runs(|sample| sample.valve == ValveState::Unknown) {
            // Either position would be legal only if every rule that is judged is.
            let legal = self.samples[run.0..=run.1].iter().all(Sample::all_legal);
            if !legal && !self.is_inside_a_hole(run) {
                findings.push(self.of_run(Rule::UNVERIFIABLE, vec![Cause::PositionUnknown], run));
            }
        }
        for hole in &self.holes {
            findings.extend(self.of_hole(hole));
        }
        for double in self.record.double_spans() {
            let span = (double.start().unix_milliseconds(), double.end().unix_milliseconds());
            let inside: Vec<usize> = self.samples_in(span).collect();
            if let (Some(&first), Some(&last)) = (inside.first(), inside.last())
                && inside.iter().any(|&sample| self.samples[sample].exposed())
            {
                findings.push(self.of_span(vec![Cause::Clock], (first, last), span));
            }
        }
        findings.sort_by_key(|one| (one.estimate.0, one.rule, one.samples, one.causes.clone()));
        self.number_episodes(&mut findings);
        findings
    }

    fn of_hole(&self, hole: &Hole) -> Option<Finding> {
        if self.is_harmless(hole) {
            return None;
        }
        // The table's more particular row: the steps around unplaced rows are gaps as well.
        let causes = vec![match (hole.exposed, hole.unplaced) {
            (true, Some(_)) => Cause::UnplacedRows,
            (true, None) => Cause::Gap,
            (false, _) => Cause::GapDiverted,
        }];
        let span = (self.samples[hole.samples.0].at, self.samples[hole.samples.1].at);
        let mut finding = self.of_span(causes, hole.samples, span);
        finding.unplaced = hole.unplaced;
        Some(finding)
    }

    /// Two findings are in one episode when less than the merge time lies between their
    /// estimates, or others link them.
    fn number_episodes(&self, findings: &mut [Finding]) {
        let merge = self.plant.limits.merge_time.milliseconds();
        let mut episode = 0;
        for index in 0..findings.len() {
            let near_one_before = findings[..index]
                .iter()
                .any(|before| findings[index].estimate.0 - before.estimate.1 < merge);
            if !near_one_before {
                episode += 1;
            }
            findings[index].episode = episode;
        }
    }

    /// The unbroken stretches of cleaning. A gap breaks one: it shows no cleaning.
    pub(super) fn stretches_of_cleaning(&self) -> Vec<Run> {
        self.runs(|sample| sample.mode == Mode::Cleaning)
    }

    /// Marks what is outside production and bundles it by stretches of cleaning; also the forward
    /// samples at which product evidently ran.
    pub(super) fn bundle(
        &self,
        findings: &mut [Finding],
        cleaning: &[Run],
    ) -> (Vec<Bundle>, BTreeSet<usize>) {
        let mut bundles: BTreeMap<Run, Vec<usize>> = BTreeMap::new();
        let mut all_cold = BTreeSet::new();
        for (index, finding) in findings.iter().enumerate() {
            // The outer interval lies in one stretch, from its first sample to its last.
            // A hole shows no cleaning, not even one of no length at the border of the record, and
            // of a span that two passes claim it is not known what was when.
            let of_time = [Cause::Gap, Cause::GapDiverted, Cause::UnplacedRows, Cause::Clock];
            let stretch = cleaning.iter().find(|stretch| {
                !finding.causes.iter().any(|cause| of_time.contains(cause))
                    && self.samples[stretch.0].at <= finding.outer.0
                    && finding.outer.1 <= self.samples[stretch.1].at
            });
            let Some(&stretch) = stretch else { continue };
            let cold: Vec<usize> = (finding.samples.0..=finding.samples.1)
                .filter(|&sample| self.samples[sample].forward() && self.is_cold(sample))
                .collect();
            if cold.is_empty() {
                bundles.entry(stretch).or_default().push(index);
            } else {
                all_cold.extend(cold);
            }
        }
        let mut numbered = Vec::new();
        for (stretch, members) in bundles {
            let number = numbered.len() + 1;
            for &member in &members {
                findings[member].outside_production = true;
                findings[member].cleaning = Some(number);
            }
            let interval = (self.samples[stretch.0].at, self.samples[stretch.1].at);
            numbered.push(Bundle { number, interval, findings: members });
        }
        (numbered, all_cold)
    }

    /// Product leaves the cooler below 7 °C / 45 °F, and no cleaner does.
    fn is_cold(&self, sample: usize) -> bool {
        self.samples[sample].cooled.is_some_and(|cooled| {
            let limit = match cooled.unit {
                TemperatureUnit::Fahrenheit => Exact::whole(45),
                TemperatureUnit::Celsius => Exact::whole(7),
            };
            cooled.value < limit
        })
    }
}
