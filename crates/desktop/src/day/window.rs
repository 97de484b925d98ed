//! The window of time that the plots show, in milliseconds since the record's first sample.
//!
//! It never leaves the record, and is never narrower than [`NARROWEST`].

use egui::{Rangef, Ui};
use trace::{Duration, Instant, Interval};

/// The narrowest window: two seconds.
pub const NARROWEST: f64 = 2000.0;

/// A window on a record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeWindow {
    origin: Instant,
    length: f64,
    from: f64,
    to: f64,
}

impl TimeWindow {
    /// The whole record.
    pub fn whole(record: Interval) -> Self {
        let length = (record.duration().milliseconds() as f64).max(NARROWEST);
        Self { origin: record.start(), length, from: 0.0, to: length }
    }

    /// Whether all of the record is in the window.
    pub fn is_whole(&self) -> bool {
        self.from <= 0.0 && self.to >= self.length
    }

    /// How much time the window shows, in milliseconds.
    pub fn span(&self) -> f64 {
        self.to - self.from
    }

    /// The interval that the window shows.
    pub fn interval(&self) -> Interval {
        Interval::between(self.instant_of(self.from), self.instant_of(self.to))
    }

    fn instant_of(&self, offset: f64) -> Instant {
        self.origin + Duration::from_milliseconds(offset.round() as i64)
    }

    fn offset_of(&self, instant: Instant) -> f64 {
        instant.since(self.origin).milliseconds() as f64
    }

    /// Where an instant lies on the screen when the window fills `range`.
    pub fn x(&self, instant: Instant, range: Rangef) -> f32 {
        let share = (self.offset_of(instant) - self.from) / self.span();
        (f64::from(range.min) + share * f64::from(range.span())) as f32
    }

    /// The same as a function that is quick to call for very many instants.
    pub fn places(&self, range: Rangef) -> impl Fn(Instant) -> f32 + use<> {
        let factor = f64::from(range.span()) / self.span();
        let offset = f64::from(range.min) - self.from * factor;
        let origin = self.origin.unix_milliseconds();
        move |instant| ((instant.unix_milliseconds() - origin) as f64 * factor + offset) as f32
    }

    /// The instant at a place on the screen.
    pub fn instant_at(&self, x: f32, range: Rangef) -> Instant {
        let share = f64::from(x - range.min) / f64::from(range.span().max(1.0));
        self.instant_of(self.from + share * self.span())
    }

    /// Shows `interval` with a margin of `margin` times its length on either side, but at least
    /// `least` milliseconds in all.
    pub fn show(&mut self, interval: Interval, margin: f64, least: f64) {
        let (from, to) = (self.offset_of(interval.start()), self.offset_of(interval.end()));
        let half = ((to - from) * (0.5 + margin)).max(least / 2.0);
        let middle = f64::midpoint(from, to);
        self.set(middle - half, middle + half);
    }

    /// Shows a span of `milliseconds` around `instant`.
    pub fn show_around(&mut self, instant: Instant, milliseconds: f64) {
        self.show(Interval::at(instant), 0.0, milliseconds);
    }

    /// Shows all of the record.
    pub fn show_whole(&mut self) {
        (self.from, self.to) = (0.0, self.length);
    }

    /// Makes the span `factor` times as long; `about` keeps its place.
    pub fn zoom(&mut self, factor: f64, about: Instant) {
        let about = self.offset_of(about).clamp(self.from, self.to);
        let span = (self.span() * factor).clamp(NARROWEST.min(self.length), self.length);
        let share = (about - self.from) / self.span();
        self.set(about - share * span, about + (1.0 - share) * span);
    }

    /// Moves the window later by `share` of its span.
    pub fn pan(&mut self, share: f64) {
        let step = share * self.span();
        self.set(self.from + step, self.to + step);
    }

    /// Zooms and moves as the wheel turns, or as two fingers do, over plots that lie on `range`.
    pub fn turn_wheel(&mut self, ui: &Ui, about: Instant, range: Rangef) {
        let (scroll, pinch) = ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta()));
        if (pinch - 1.0).abs() > f32::EPSILON {
            self.zoom(f64::from(1.0 / pinch), about);
        } else if scroll.y.abs() > scroll.x.abs() {
            self.zoom(f64::from(-scroll.y / 240.0).exp(), about);
        } else if scroll.x.abs() > 0.0 {
            self.pan(f64::from(-scroll.x / range.span()));
        }
    }

    /// Moves the window so that `instant` is in it, if it is not.
    pub fn reveal(&mut self, instant: Instant) {
        if !self.interval().contains(instant) {
            self.show_around(instant, self.span());
        }
    }

    /// The middle of the window.
    pub fn middle(&self) -> Instant {
        self.instant_of(f64::midpoint(self.from, self.to))
    }

    /// Sets both ends, moved into the record.
    fn set(&mut self, from: f64, to: f64) {
        let span = (to - from).clamp(NARROWEST.min(self.length), self.length);
        let middle = f64::midpoint(from, to);
        let from = (middle - span / 2.0).clamp(0.0, self.length - span);
        (self.from, self.to) = (from, from + span);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(milliseconds: i64) -> Instant {
        Instant::from_unix_milliseconds(1_000_000 + milliseconds)
    }

    #[test]
    fn the_window_stays_in_the_record() {
        let mut window = TimeWindow::whole(Interval::between(at(0), at(100_000)));
        assert!(window.is_whole());
        window.zoom(0.5, at(0));
        assert_eq!(window.interval(), Interval::between(at(0), at(50_000)));
        window.pan(-3.0);
        assert_eq!(window.interval(), Interval::between(at(0), at(50_000)));
        window.pan(9.0);
        assert_eq!(window.interval(), Interval::between(at(50_000), at(100_000)));
        window.zoom(1e-9, at(60_000));
        assert!((window.span() - NARROWEST).abs() < 1e-6);
        assert!(window.interval().contains(at(60_000)));
        window.zoom(1e9, at(60_000));
        assert!(window.is_whole());
    }

    #[test]
    fn places_and_instants_are_inverse() {
        let mut window = TimeWindow::whole(Interval::between(at(0), at(86_400_000)));
        window.show(Interval::between(at(40_000_000), at(40_060_000)), 0.5, 0.0);
        let range = Rangef::new(100.0, 1100.0);
        let x = window.x(at(40_030_000), range);
        assert!((x - 600.0).abs() < 0.1);
        assert!((window.places(range)(at(40_030_000)) - x).abs() < 1e-3);
        let back = window.instant_at(x, range);
        assert!(back.since(at(40_030_000)).milliseconds().abs() < 150);
    }

    #[test]
    fn a_record_of_one_sample_has_a_window() {
        let window = TimeWindow::whole(Interval::at(at(5)));
        assert!(window.span() >= NARROWEST);
        assert!(window.x(at(5), Rangef::new(0.0, 10.0)).abs() < 0.1);
    }
}
