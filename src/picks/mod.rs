//! Where does every pick lie, and which row of the drawdown is it?
//!
//! In the order of the work:
//!
//! | file | question |
//! |---|---|
//! | `columns` | which columns of the picture stay on the same end? |
//! | `pattern` | what does the drawdown lead to expect along the band? |
//! | `unplanned`, `steps`, `spacings`, `spacing_signs` | without a plan: how far apart are the picks, how many lie in the repeat? |
//! | `repeat`, `border`, `guessed`, `sett` | without a drawdown: after how many picks does it come round, where in it does one begin, which cells show weft, how many ends lie across? |
//! | `header`, `planned_header`, `colour_kinds`, `novelty` | where does the body begin and end between its headers; which colours does a row show, how unusual is it? |
//! | `cloth` | the cloth sampled evenly in picks |
//! | `level` | what is left without stripes and shades? |
//! | `spectrum`, `four`, `shape`, `pitch`, `coherence` | how far apart are the picks, roughly; do neighbouring ends take turns? |
//! | `phase`, `path` | at which phase of the repeat does each sample lie? |
//! | `rows` | which drawdown row is each phase, and which way does the band lie? |
//! | `begins` | at which phase does a pick begin, whatever light and shade say? |
//! | `stripes`, `contrast`, `interlaced` | which rows show a second weft; followed once more, cells of one kind pooled |
//! | `stiffer`, `evenness` | does the path lose picks? followed less closely where it may |
//! | `passed_over` | which picks did the path pass over? |
//! | `locate`, `body_picks`, `likeness`, `misfit`, `cell_colours`, `count` | which places hold a pick of the body? |
//! | `close_ends`, `close_signs`, `close_cells`, `close_repeat`, `close_turns` | the first and the last of them, looked at closely |
//! | `beside`, `seen_ends` | what lies beside the cloth; how far off are its ends as they were seen? |
//! | `place`, `normal`, `side_by_side`, `settle` | where does each pick lie, taken by itself? |
//! | `together`, `weft_ways`, `weft_told`, `band_matrix` | exactly where, once all are placed together? which yarn is the weft? |
//! | `cover`, `edges` | does the warp hide the weft, or the weft the warp; where does the body begin and end? |
//! | `in_drawdown`, `cell_looks`, `cell_odds`, `slips`, `slip_signs` | which cells differ from the drawdown? |
//! | `own_repeat`, `lattice`, `two_yarns` | without a drawdown: which differ from what the cloth shows everywhere else, where do its ends lie, and which yarn do they show? |
//! | `weave`, `unwoven` | is what was followed woven at all? |
//! | `selvedge_turns` | do the picks agree with the weft's turns at the selvedges? |
//! | `counted`, `sought` | all of that for one cloth, in millimetres; which of two repeats is followed; a second look where picks lie oddly |
//! | `count_doubt`, `doubt`, `find` | how likely the count is wrong, what else is doubtful; all of it in its order |

mod band_matrix;
mod begins;
mod beside;
mod body_picks;
mod border;
mod cell_colours;
mod cell_looks;
mod cell_odds;
mod close_cells;
mod close_ends;
mod close_repeat;
mod close_signs;
mod close_turns;
mod cloth;
mod coherence;
mod colour_kinds;
mod columns;
mod contrast;
mod count;
mod count_doubt;
mod counted;
mod cover;
mod doubt;
mod edges;
mod evenness;
mod find;
mod four;
mod guessed;
mod header;
mod in_drawdown;
mod interlaced;
mod lattice;
mod level;
mod likeness;
mod locate;
mod misfit;
mod normal;
mod novelty;
mod options;
mod own_repeat;
mod passed_over;
mod path;
mod pattern;
mod phase;
mod picture;
mod pitch;
mod place;
mod planned_header;
mod repeat;
mod rows;
mod seen_ends;
mod selvedge_turns;
mod sett;
mod settle;
mod shape;
mod side_by_side;
mod slip_signs;
mod slips;
mod sought;
mod spacing_signs;
mod spacings;
mod spectrum;
mod steps;
mod stiffer;
mod stripes;
mod together;
mod track;
mod two_yarns;
mod unplanned;
mod unwoven;
mod weave;
mod weft_told;
mod weft_ways;

pub use find::{Evidence, PickOutcome, Woven, find_picks};
pub use options::{PickHint, PickOptions};
pub use own_repeat::OwnEnds;
pub(crate) use spacing_signs::SIGNS_OF_CLOTH;
pub use track::PickTrack;
pub use unplanned::rough_picks_per_inch;
pub(crate) use unplanned::{StripSpacing, strip_spacings};
pub(crate) use weave::{PickLines, Weave};
