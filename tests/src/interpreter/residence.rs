//! How long the parcel that leaves the holding tube was held (section 7).

use super::{Answer, Day, Residence, limits};
use crate::exact::Exact;
use plant::Tube;

impl Day<'_> {
    /// Judges the time at every sample.
    pub(super) fn hold(&mut self) {
        if !self.judges_time() {
            return;
        }
        for sample in 0..self.samples.len() {
            let (held, residence) = self.held_at(sample);
            self.samples[sample].held = held;
            self.samples[sample].residence = residence;
        }
    }

    /// The tube's effective volume for the product at a sample, in units of the meter's flow times
    /// milliseconds.
    pub(super) fn volume_of_tube(&self, sample: usize) -> Option<Exact> {
        let meter = self.record.flow_rate()?.unit();
        let volume = match self.plant.tube.as_ref()? {
            Tube::Certified(test) | Tube::Both(test, _) => {
                limits::flow_in(test.test_flow, meter) * Exact::whole(test.test_time.milliseconds())
            }
            Tube::Measured(geometry) => {
                // Known by its measures only, which are binary numbers, at the flow of the instant.
                let flow = self.samples[sample].flow?.max(Exact::ZERO);
                let flow = (flow * limits::litres_per_hour(meter)).to_f64();
                let litres = (geometry.effective_litres(flow) * 1e6) as i128;
                Exact::new(litres, 1_000_000)
                    * Exact::whole(3_600_000).over(limits::litres_per_hour(meter))
            }
        };
        Some(volume * self.samples[sample].limit.factor)
    }

    /// What flowed in the last `time` milliseconds of the step that ends at `end`, a straight line
    /// between its samples, in units of flow times milliseconds. A flow below zero is none.
    fn passed_at_end_of_step(&self, end: usize, time: i64) -> Option<Exact> {
        let (from, to) = (&self.samples[end - 1], &self.samples[end]);
        let (start, stop) = (from.flow?.max(Exact::ZERO), to.flow?.max(Exact::ZERO));
        let way = Exact::new(i128::from(time), i128::from(to.at - from.at));
        let there = stop + (start - stop) * way;
        Some((there + stop) * Exact::new(i128::from(time), 2))
    }

    fn held_at(&self, sample: usize) -> (Answer, Residence) {
        let this = &self.samples[sample];
        let (Some(volume), Some(_)) = (self.volume_of_tube(sample), this.flow) else {
            return (Answer::Unknown, Residence::Unknown);
        };
        let minimum = this.limit.minimum_time;
        // What an unusable flow in the window would give is no residence, not even one too short.
        let mut unusable = !this.flow_is_usable();
        let mut passed = Exact::ZERO;
        let mut entry = sample;
        loop {
            if entry == 0 {
                return self.held_from_the_start(sample, volume, unusable);
            }
            let step = self.samples[entry].at - self.samples[entry - 1].at;
            let all = self.passed_at_end_of_step(entry, step);
            let (Some(all), false) = (all, self.gap_after[entry - 1]) else {
                return (Answer::Unknown, Residence::Unknown);
            };
            unusable |= !self.samples[entry - 1].flow_is_usable();
            if passed + all >= volume {
                break;
            }
            passed = passed + all;
            entry -= 1;
        }
        // The parcel entered within the step that ends at `entry`: the least whole number of
        // milliseconds in which enough passed.
        let enough = |time: i64| {
            self.passed_at_end_of_step(entry, time).map_or(Exact::ZERO, |part| passed + part)
        };
        let (mut too_little, mut time) = (0, self.samples[entry].at - self.samples[entry - 1].at);
        while time - too_little > 1 {
            let middle = i64::midpoint(too_little, time);
            if enough(middle) >= volume {
                time = middle;
            } else {
                too_little = middle;
            }
        }
        let after = this.at - self.samples[entry].at;
        let exact = enough(time) == volume;
        let short = after + time < minimum || (after + time == minimum && !exact);
        let whole = if exact { after + time } else { after + time - 1 };
        if unusable {
            return (Answer::Unknown, Residence::Unknown);
        }
        (if short { Answer::Short } else { Answer::Legal }, Residence::Known(whole, short))
    }

    /// The record starts less than the tube's volume before: the greatest flow so far decides.
    fn held_from_the_start(
        &self,
        sample: usize,
        volume: Exact,
        unusable: bool,
    ) -> (Answer, Residence) {
        if unusable {
            return (Answer::Unknown, Residence::Unknown);
        }
        let minimum = Exact::whole(self.samples[sample].limit.minimum_time);
        let flows = self.samples[..=sample].iter().filter_map(|sample| sample.flow);
        if flows.fold(Exact::ZERO, Exact::max) * minimum > volume {
            (Answer::Short, Residence::ShortAnyhow)
        } else {
            (Answer::Legal, Residence::Unknown)
        }
    }
}
