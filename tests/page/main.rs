//! The job pack from outside: its numbers against the JSON answer, its markup, its files, and how a browser shows it.

mod browser;
mod files;
mod markup;
mod numbers;
mod pages;
