//! `desk`: the same work in a browser, on this machine only.
//!
//! A small server on the loopback address. Every request must name this machine as its host and
//! carry the token that only the printed address holds; nothing is fetched from elsewhere, and
//! nothing is written to disk: what isn't saved is gone when the desk closes. What measures is what
//! the command line calls, with the same settings, so that both write the same bytes.
//!
//! | file | holds |
//! |---|---|
//! | `command` | what `desk` was asked; the listener and its limits |
//! | `routes` | which address does what |
//! | `guard` | token, host, time limit, headers of every answer |
//! | `refusal` | why a request was refused, in words |
//! | `store` | what lies on the desk, in memory, bounded |
//! | `photos` | photos put on the desk, and their pictures |
//! | `measuring` | a photo measured, and measured again as it is put right |
//! | `marks` | what was found, as lines in the photo and places on the band |
//! | `plans` | a plan checked and worked out |
//! | `class` | several bands compared; yarn for the next |
//! | `files` | what can be saved: a band's files, everything as a zip, the sheet |
//! | `assets`, `page/` | the page itself |

mod assets;
mod class;
mod command;
mod files;
mod guard;
mod marks;
mod measuring;
mod photos;
mod plans;
mod refusal;
mod routes;
mod store;

pub(crate) use command::{DeskArgs, run};
