//! Where the cores of a radiator lie in its face: by whole tubes from one tank end, or as rectangles.
//! Geometry alone, seen from before the face: no air and no coolant.

use super::radiator::{Core, Radiator, TubeDirection};
use crate::quantity::Length;
use serde::{Deserialize, Serialize};

/// Edges this close count as the same, m: round-off of lengths in inches.
pub const SAME_EDGE_M: f64 = 1.0e-6;
/// Share of a pitch by which a face may fall short of a whole tube: round-off.
const WHOLE_TUBE: f64 = 1.0e-6;

/// A rectangle of the face, seen from before it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FaceRectangle {
    /// From the left edge of the face to that of the rectangle.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub from_left: Length,
    /// From the bottom edge of the face to that of the rectangle.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub from_bottom: Length,
    /// Width.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub width: Length,
    /// Height.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub height: Length,
}

/// Where a face begins behind another, seen from before them; either may be below zero.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FaceOffset {
    /// From the left edge of the front face to that of this one, to the right.
    pub from_left: Length,
    /// From the bottom edge of the front face to that of this one, upwards.
    pub from_bottom: Length,
}

/// Edges of a rectangle, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceBounds {
    /// Left edge.
    pub left_m: f64,
    /// Bottom edge.
    pub bottom_m: f64,
    /// Right edge.
    pub right_m: f64,
    /// Top edge.
    pub top_m: f64,
}

impl FaceBounds {
    /// The same rectangle moved.
    pub fn moved(self, right_m: f64, up_m: f64) -> Self {
        Self {
            left_m: self.left_m + right_m,
            bottom_m: self.bottom_m + up_m,
            right_m: self.right_m + right_m,
            top_m: self.top_m + up_m,
        }
    }

    /// Whether a point lies inside.
    pub fn holds(self, x_m: f64, y_m: f64) -> bool {
        (self.left_m..self.right_m).contains(&x_m) && (self.bottom_m..self.top_m).contains(&y_m)
    }

    /// Width and height that two rectangles share, m; none where they do not overlap.
    pub fn shared(self, other: Self) -> Option<(f64, f64)> {
        let width = self.right_m.min(other.right_m) - self.left_m.max(other.left_m);
        let height = self.top_m.min(other.top_m) - self.bottom_m.max(other.bottom_m);
        (width > SAME_EDGE_M && height > SAME_EDGE_M).then_some((width, height))
    }
}

impl From<FaceRectangle> for FaceBounds {
    fn from(face: FaceRectangle) -> Self {
        let (left_m, bottom_m) = (face.from_left.m(), face.from_bottom.m());
        Self {
            left_m,
            bottom_m,
            right_m: left_m + face.width.m(),
            top_m: bottom_m + face.height.m(),
        }
    }
}

/// Where a cut is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutPlace {
    /// A key of the radiator.
    Radiator(&'static str),
    /// A core as a whole.
    Core(usize),
    /// A key of a core.
    CoreKey(usize, &'static str),
}

/// What is wrong with a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutFault {
    /// Where.
    pub place: CutPlace,
    /// What, with value and limit.
    pub message: String,
    /// What to try.
    pub help: String,
}

impl Radiator {
    /// Whether the cores are rectangles of the face.
    pub fn is_cut_by_face(&self) -> bool {
        self.cores.values().any(|c| c.face.is_some())
    }

    /// Distance from tube to tube, m: the face across the tubes over their number.
    pub fn pitch_m(&self) -> f64 {
        let across = match self.direction() {
            TubeDirection::Horizontal => self.face_height,
            TubeDirection::Vertical => self.face_width,
        };
        across.m() / f64::from(self.tubes.count.max(1))
    }

    /// Tubes of a core: stated, or the whole tubes that lie in its face.
    pub fn core_tubes(&self, core: &Core) -> u32 {
        match (core.tubes, core.face) {
            (Some(tubes), _) => tubes,
            (None, Some(face)) => (self.pitches(face) + WHOLE_TUBE).floor() as u32,
            (None, None) => 0,
        }
    }

    /// Length of one tube of a core, m: stated, or that of the radiator in proportion to the core's face.
    pub fn core_tube_length_m(&self, core: &Core) -> f64 {
        let whole = self.tubes.length.m();
        match (core.tube_length, core.face) {
            (Some(length), _) => length.m(),
            (None, None) => whole,
            (None, Some(face)) => match self.direction() {
                TubeDirection::Horizontal => whole * face.width.m() / self.face_width.m(),
                TubeDirection::Vertical => whole * face.height.m() / self.face_height.m(),
            },
        }
    }

    /// Face area of a core, m2: its rectangle, or its share of the tube count.
    pub fn core_face_m2(&self, core: &Core) -> f64 {
        match core.face {
            Some(face) => face.width.m() * face.height.m(),
            None => {
                self.face_area_m2() * f64::from(self.core_tubes(core)) / f64::from(self.tubes.count)
            }
        }
    }

    /// Lost tubes between each two neighbouring cores: shared evenly, the odd ones to the first walls.
    pub fn lost_between(&self) -> Vec<u32> {
        let gaps = self.cores.len().saturating_sub(1) as u32;
        let lost = self.lost_tubes.unwrap_or(0);
        (0..gaps)
            .map(|gap| lost / gaps + u32::from(gap < lost % gaps))
            .collect()
    }

    /// Edges of the whole face, m.
    pub fn face_bounds(&self) -> FaceBounds {
        FaceBounds {
            left_m: 0.0,
            bottom_m: 0.0,
            right_m: self.face_width.m(),
            top_m: self.face_height.m(),
        }
    }

    /// Edges of every core, m. Cut by tubes, the first core lies at the bottom (tubes horizontal) or at the left.
    pub fn core_bounds(&self) -> Vec<FaceBounds> {
        let lost = self.lost_between();
        let pitch = self.pitch_m();
        let mut passed = 0;
        let mut bounds = Vec::new();
        for (k, core) in self.cores.values().enumerate() {
            if let Some(face) = core.face {
                bounds.push(face.into());
                continue;
            }
            let from = f64::from(passed) * pitch;
            passed += self.core_tubes(core);
            let to = f64::from(passed) * pitch;
            passed += lost.get(k).copied().unwrap_or(0);
            let whole = self.face_bounds();
            bounds.push(match self.direction() {
                TubeDirection::Horizontal => FaceBounds {
                    bottom_m: from,
                    top_m: to,
                    ..whole
                },
                TubeDirection::Vertical => FaceBounds {
                    left_m: from,
                    right_m: to,
                    ..whole
                },
            });
        }
        bounds
    }

    /// Everything that is wrong with the cut.
    pub fn cut_faults(&self) -> Vec<CutFault> {
        if self.is_cut_by_face() {
            self.face_faults()
        } else {
            self.tube_faults()
        }
    }

    fn direction(&self) -> TubeDirection {
        self.tubes.direction.unwrap_or_default()
    }

    /// How many pitches of the tubes a face is wide across them.
    fn pitches(&self, face: FaceRectangle) -> f64 {
        let across = match self.direction() {
            TubeDirection::Horizontal => face.height,
            TubeDirection::Vertical => face.width,
        };
        across.m() / self.pitch_m()
    }

    fn tube_faults(&self) -> Vec<CutFault> {
        let mut faults = Vec::new();
        for (k, (name, core)) in self.cores.iter().enumerate() {
            if core.tubes.is_none() {
                faults.push(CutFault {
                    place: CutPlace::Core(k),
                    message: format!("the core `{name}` has neither `tubes` nor `face`"),
                    help: "give its whole `tubes`, or its rectangle as `face`".into(),
                });
            }
            if core.tube_length.is_some() {
                faults.push(CutFault {
                    place: CutPlace::CoreKey(k, "tube_length"),
                    message: format!(
                        "the core `{name}` is cut by tubes, so its tubes are as long as the radiator's"
                    ),
                    help: "try leaving `tube_length` out, or cut by `face`".into(),
                });
            }
        }
        let used: u64 = (self.cores.values())
            .map(|c| u64::from(self.core_tubes(c)))
            .sum();
        let lost = u64::from(self.lost_tubes.unwrap_or(0));
        let count = u64::from(self.tubes.count);
        if used + lost > count {
            faults.push(CutFault {
                place: CutPlace::Radiator("cores"),
                message: format!(
                    "the cores take {used} tubes and {lost} are lost, but the radiator has {count}"
                ),
                help: format!("try cores of {} tubes together", count.saturating_sub(lost)),
            });
        }
        faults
    }

    fn face_faults(&self) -> Vec<CutFault> {
        let mut faults = Vec::new();
        if self.lost_tubes.is_some_and(|n| n > 0) {
            faults.push(CutFault {
                place: CutPlace::Radiator("lost_tubes"),
                message: "`lost_tubes` goes with a cut by tubes; cut by face, what no core holds is lost by itself"
                    .into(),
                help: "try leaving `lost_tubes` out".into(),
            });
        }
        let mut placed: Vec<(&str, FaceBounds)> = Vec::new();
        for (k, (name, core)) in self.cores.iter().enumerate() {
            let Some(face) = core.face else {
                faults.push(CutFault {
                    place: CutPlace::Core(k),
                    message: format!(
                        "the core `{name}` has no `face`, but another core of this radiator has one"
                    ),
                    help: "give every core a `face`, or cut all of them by `tubes`".into(),
                });
                continue;
            };
            let bounds = FaceBounds::from(face);
            let sides = [
                (bounds.right_m, self.face_width, "left", "width"),
                (bounds.top_m, self.face_height, "bottom", "height"),
            ];
            for (reach_m, limit, from, side) in sides {
                if reach_m > limit.m() + SAME_EDGE_M {
                    faults.push(CutFault {
                        place: CutPlace::CoreKey(k, "face"),
                        message: format!(
                            "the core `{name}` reaches out of the face: got {} from the {from}, limit {limit} (`face_{side}`)",
                            Length::from_m((1e6 * reach_m).round() / 1e6)
                        ),
                        help: format!("try a smaller `{side}` or `from_{from}`"),
                    });
                }
            }
            for (other, theirs) in &placed {
                if let Some((width_m, height_m)) = bounds.shared(*theirs) {
                    let show = |m: f64| Length::from_m((1e6 * m).round() / 1e6);
                    faults.push(CutFault {
                        place: CutPlace::CoreKey(k, "face"),
                        message: format!(
                            "the cores `{other}` and `{name}` overlap by {} of width and {} of height",
                            show(width_m),
                            show(height_m)
                        ),
                        help: "try moving or narrowing one of them".into(),
                    });
                }
            }
            placed.push((name, bounds));
            self.tubes_in_face(k, name, core, face, &mut faults);
        }
        faults
    }

    fn tubes_in_face(
        &self,
        k: usize,
        name: &str,
        core: &Core,
        face: FaceRectangle,
        faults: &mut Vec<CutFault>,
    ) {
        let pitch = Length::from_m((1e7 * self.pitch_m()).round() / 1e7);
        let across = match self.direction() {
            TubeDirection::Horizontal => face.height,
            TubeDirection::Vertical => face.width,
        };
        let fitting = (self.pitches(face) + WHOLE_TUBE).floor();
        if fitting < 1.0 {
            faults.push(CutFault {
                place: CutPlace::CoreKey(k, "face"),
                message: format!(
                    "the core `{name}` holds no whole tube: got {across} across the tubes, limit one pitch of {pitch}"
                ),
                help: "try a larger face".into(),
            });
        } else if let Some(tubes) = core.tubes
            && f64::from(tubes) > fitting
        {
            faults.push(CutFault {
                place: CutPlace::CoreKey(k, "tubes"),
                message: format!(
                    "the core `{name}` has more tubes than lie in its face: got {tubes}, limit {fitting} at a pitch of {pitch}"
                ),
                help: "try a larger face, or leave `tubes` out".into(),
            });
        }
    }
}
