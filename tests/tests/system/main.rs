//! The whole system, from outside: the real program, real files, readers that share no code with ours.
//!
//! One test program, because each one links the query engine. A file holds one subject.

mod bad_input;
mod damage;
mod boundaries;
mod demo;
mod device;
mod examples;
mod exchange;
mod fields;
mod formats;
mod help;
mod many_processes;
mod outside_bytes;
mod own_kinds;
mod readers;
mod readme;
mod one_field;
mod sheets;
mod sums;
mod worked_examples;
