//! What the second passes of stages tell: flows hardly feel a small change of temperature, so that most stages need but one.

/// Stages for which the second pass of an earlier one is believed (our choice).
const TOLD_FOR: usize = 8;
/// What a second pass would change is taken for this many times what that one told (our choice).
const TOLD_SAFETY: f64 = 10.0;

/// What the last second pass told.
#[derive(Clone, Copy)]
pub(super) struct Told {
    /// Change of the second pass over that of the first.
    share: f64,
    /// Stages since.
    age: usize,
}

impl Told {
    /// Before any second pass.
    pub const NOTHING: Self = Self {
        share: f64::INFINITY,
        age: 0,
    };

    /// What further passes would change after a first one that changed this much, K; never more than that one did.
    pub fn left_k(&mut self, change_k: f64) -> f64 {
        self.age += 1;
        if self.age > TOLD_FOR {
            *self = Self::NOTHING;
        }
        // Where nothing was told and nothing changed the product is no number, and the change stands.
        change_k.min(TOLD_SAFETY * self.share * change_k)
    }

    /// Takes the changes of a second pass and of the one before, K.
    pub fn hear(&mut self, change_k: f64, before_k: f64) {
        *self = Self {
            share: change_k / before_k,
            age: 0,
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_told_is_believed_for_a_while_and_with_care() {
        let mut told = Told::NOTHING;
        assert_eq!(told.left_k(0.5), 0.5);
        assert_eq!(told.left_k(0.0), 0.0);
        told.hear(1e-5, 1e-2);
        for _ in 0..TOLD_FOR {
            assert!((told.left_k(1e-3) - 1e-5).abs() < 1e-18);
        }
        assert_eq!(told.left_k(1e-3), 1e-3);
        told.hear(2.0, 1.0);
        assert_eq!(told.left_k(1e-3), 1e-3);
    }
}
