//! The whole system, from outside: the real program, real files, readers that share no code with ours.
//!
//! One test program, because each one links the query engine. A file holds one subject.

mod demo;
mod help;
mod readers;
mod readme;
mod worked_examples;
