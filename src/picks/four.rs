//! Four numbers as one: an algorithm that is written for any number works on four series at once.

use std::ops::{Add, Div, Mul, Neg, Rem, Sub};

use rustfft::num_traits::{FromPrimitive, Num, One, Signed, Zero};

/// Four numbers; every operation is done to each by itself.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Four(pub(super) [f32; 4]);

impl Four {
    /// The same number four times.
    pub(super) fn all(value: f32) -> Self {
        Self([value; 4])
    }

    fn each(self, of: impl Fn(f32) -> f32) -> Self {
        Self(self.0.map(of))
    }
}

macro_rules! each_by_itself {
    ($($operation:ident $name:ident),*) => {$(
        impl $operation for Four {
            type Output = Self;

            #[inline]
            fn $name(self, other: Self) -> Self {
                let mut done = [0.0; 4];
                for n in 0..4 {
                    done[n] = self.0[n].$name(other.0[n]);
                }
                Self(done)
            }
        }
    )*};
}

each_by_itself!(Add add, Sub sub, Mul mul, Div div, Rem rem);

impl Neg for Four {
    type Output = Self;

    #[inline]
    fn neg(self) -> Self {
        self.each(|value| -value)
    }
}

impl Zero for Four {
    fn zero() -> Self {
        Self::all(0.0)
    }

    fn is_zero(&self) -> bool {
        self.0.iter().all(Zero::is_zero)
    }
}

impl One for Four {
    fn one() -> Self {
        Self::all(1.0)
    }
}

impl Num for Four {
    type FromStrRadixErr = <f32 as Num>::FromStrRadixErr;

    fn from_str_radix(text: &str, radix: u32) -> Result<Self, Self::FromStrRadixErr> {
        f32::from_str_radix(text, radix).map(Self::all)
    }
}

impl Signed for Four {
    fn abs(&self) -> Self {
        self.each(f32::abs)
    }

    fn abs_sub(&self, other: &Self) -> Self {
        (*self - *other).each(|value| value.max(0.0))
    }

    fn signum(&self) -> Self {
        self.each(f32::signum)
    }

    fn is_positive(&self) -> bool {
        self.0.iter().all(|value| *value > 0.0)
    }

    fn is_negative(&self) -> bool {
        self.0.iter().all(|value| *value < 0.0)
    }
}

impl FromPrimitive for Four {
    fn from_i64(value: i64) -> Option<Self> {
        f32::from_i64(value).map(Self::all)
    }

    fn from_u64(value: u64) -> Option<Self> {
        f32::from_u64(value).map(Self::all)
    }

    fn from_f64(value: f64) -> Option<Self> {
        f32::from_f64(value).map(Self::all)
    }
}
