//! The whole system, from outside: the real program, real files, readers that share no code with ours.
//!
//! One test program, because each one links the query engine. A file holds one subject.

mod backup;
mod bad_input;
mod boundaries;
mod clocks;
mod damage;
mod demo;
mod device;
mod echo;
mod examples;
mod exchange;
mod export;
mod failing_disk;
mod fields;
mod for_whom;
mod formats;
mod help;
mod many_processes;
mod one_field;
mod outside_bytes;
mod own_kinds;
mod photos;
mod photos_travel;
mod readers;
mod readme;
mod sheets;
mod sitting;
mod soak;
mod spanish;
mod sums;
mod visits;
mod worked_examples;
