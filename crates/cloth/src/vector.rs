//! Points and directions in space.

use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// A point or a direction: x to the right, y up the work, z towards whoever looks at the right side.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vec3 {
    /// To the right.
    pub x: f64,
    /// Up the work.
    pub y: f64,
    /// Towards the eye.
    pub z: f64,
}

impl Vec3 {
    /// The origin.
    pub const ZERO: Vec3 = Vec3::new(0.0, 0.0, 0.0);

    /// The vector with these coordinates.
    pub const fn new(x: f64, y: f64, z: f64) -> Vec3 {
        Vec3 { x, y, z }
    }

    /// The scalar product.
    pub fn dot(self, other: Vec3) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// The vector product.
    pub fn cross(self, other: Vec3) -> Vec3 {
        Vec3::new(
            self.y * other.z - self.z * other.y,
            self.z * other.x - self.x * other.z,
            self.x * other.y - self.y * other.x,
        )
    }

    /// The length.
    pub fn norm(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The direction, of length one; zero stays zero.
    pub fn unit(self) -> Vec3 {
        let norm = self.norm();
        if norm > 0.0 { self * (1.0 / norm) } else { Vec3::ZERO }
    }

    /// The point a fraction of the way to another.
    pub fn towards(self, other: Vec3, fraction: f64) -> Vec3 {
        self + (other - self) * fraction
    }
}

impl Add for Vec3 {
    type Output = Vec3;
    fn add(self, other: Vec3) -> Vec3 {
        Vec3::new(self.x + other.x, self.y + other.y, self.z + other.z)
    }
}

impl Sub for Vec3 {
    type Output = Vec3;
    fn sub(self, other: Vec3) -> Vec3 {
        Vec3::new(self.x - other.x, self.y - other.y, self.z - other.z)
    }
}

impl Mul<f64> for Vec3 {
    type Output = Vec3;
    fn mul(self, by: f64) -> Vec3 {
        Vec3::new(self.x * by, self.y * by, self.z * by)
    }
}

impl Neg for Vec3 {
    type Output = Vec3;
    fn neg(self) -> Vec3 {
        self * -1.0
    }
}

impl AddAssign for Vec3 {
    fn add_assign(&mut self, other: Vec3) {
        *self = *self + other;
    }
}

impl SubAssign for Vec3 {
    fn sub_assign(&mut self, other: Vec3) {
        *self = *self - other;
    }
}

impl std::iter::Sum for Vec3 {
    fn sum<I: Iterator<Item = Vec3>>(vectors: I) -> Vec3 {
        vectors.fold(Vec3::ZERO, Add::add)
    }
}

/// The least and the greatest of some values; without end, and the wrong way about, where there are none.
pub(crate) fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| (least.min(value), most.max(value)))
}

/// A vector in single precision, for what only guides the search for a shape.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Vec3f {
    pub(crate) x: f32,
    pub(crate) y: f32,
    pub(crate) z: f32,
}

impl Vec3f {
    pub(crate) const ZERO: Vec3f = Vec3f { x: 0.0, y: 0.0, z: 0.0 };

    /// In double precision.
    pub(crate) fn wide(self) -> Vec3 {
        Vec3::new(self.x.into(), self.y.into(), self.z.into())
    }
}

impl From<Vec3> for Vec3f {
    fn from(vector: Vec3) -> Vec3f {
        Vec3f { x: vector.x as f32, y: vector.y as f32, z: vector.z as f32 }
    }
}

impl Add for Vec3f {
    type Output = Vec3f;
    fn add(self, other: Vec3f) -> Vec3f {
        Vec3f { x: self.x + other.x, y: self.y + other.y, z: self.z + other.z }
    }
}

impl Mul<f32> for Vec3f {
    type Output = Vec3f;
    fn mul(self, by: f32) -> Vec3f {
        Vec3f { x: self.x * by, y: self.y * by, z: self.z * by }
    }
}
