//! Where does every pick lie, and which row of the drawdown is it?

mod track;

pub use track::PickTrack;
