//! The pages in a browser: the round's steps, each one handler, form and template in one file of `pages`. The only part
//! that knows HTTP and async; nothing is computed here that the tasks do not compute for the command line, too.

pub(crate) mod app;
mod ask;
mod assets;
mod controls;
mod fields;
mod glossary;
mod guard;
mod imperial;
mod jobs;
mod outgoing;
mod pages;
mod reply;
pub(crate) mod serve;
mod shelf;
mod shell;
mod standalone;
#[cfg(test)]
mod trial;
mod upload;
