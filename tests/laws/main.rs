//! Laws that every solution keeps, whatever the design: closure, invariance, and an answer or a reasoned no.

#![allow(clippy::unwrap_used)]

mod air_path;
mod answers;
mod closures;
mod documents;
mod extremes;
mod family;
mod invariance;
mod matrix;
mod rest;
mod robustness;
mod sensitivity;
mod wild;
