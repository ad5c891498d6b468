//! Lengths and other quantities that carry their unit.
