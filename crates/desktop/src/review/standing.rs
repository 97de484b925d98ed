//! The marks of the review, told apart by shape: an empty square is open, one with an arrow that
//! points back was sent back, a filled one with a tick is settled, one that is crossed does not hold.

use crate::theme::Look;
use ::review::Standing;
use egui::{Painter, Rect, Stroke, StrokeKind, pos2};

/// What a mark says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// It does not hold.
    Fails,
    /// To be looked at again.
    SentBack,
    /// To be done.
    Open,
    /// Done.
    Done,
}

impl Mark {
    /// The mark of where an exception stands.
    pub const fn of(standing: &Standing) -> Self {
        match standing {
            Standing::Open => Self::Open,
            Standing::SentBack { .. } => Self::SentBack,
            Standing::Settled { .. } => Self::Done,
        }
    }
}

/// Draws a mark into a square.
pub fn draw(painter: &Painter, look: Look, rect: Rect, mark: Mark) {
    let colors = look.colors;
    let at = |x: f32, y: f32| pos2(rect.left() + rect.width() * x, rect.top() + rect.height() * y);
    let line = Stroke::new(1.4, colors.ink);
    match mark {
        Mark::Fails => {
            let line = Stroke::new(1.8, colors.alert);
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
            painter.line_segment([at(0.24, 0.24), at(0.76, 0.76)], line);
            painter.line_segment([at(0.76, 0.24), at(0.24, 0.76)], line);
        }
        Mark::Open => {
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
        }
        Mark::SentBack => {
            let line = Stroke::new(1.6, colors.alert);
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
            painter.line_segment([at(0.22, 0.5), at(0.8, 0.5)], line);
            painter.line_segment([at(0.22, 0.5), at(0.46, 0.26)], line);
            painter.line_segment([at(0.22, 0.5), at(0.46, 0.74)], line);
        }
        Mark::Done => {
            painter.rect_filled(rect, 2.0, colors.ink);
            let line = Stroke::new(1.8, colors.surface);
            painter.line_segment([at(0.2, 0.52), at(0.42, 0.76)], line);
            painter.line_segment([at(0.42, 0.76), at(0.82, 0.26)], line);
        }
    }
}
