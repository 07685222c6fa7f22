#pragma once

#include "daemon/core/batch_run.hpp"
#include "daemon/core/blush.hpp"
#include "daemon/core/coat_run.hpp"
#include "daemon/core/full_cure.hpp"
#include "daemon/core/piece_outlook.hpp"
#include "daemon/core/unfit_air.hpp"
#include "daemon/core/verdict.hpp"

/// What is computed of a coat, on one page; the headers above say each part exactly.
///
/// Terms. A *clock* belongs to one milestone of one coat. Its progress is ∫ dt / t(conditions), reached at 1:
/// the additivity rule, exact where one reaction runs through one course whatever its pace. t comes from the
/// sheet: a stated row is met exactly, between rows ln t is a line in 1/T with the spread of a bridge, beyond
/// them a fitted energy with a spread that grows with the distance (time_model.hpp; the figures stand in
/// data/*.inc with where they come from). *Slow*, *expected* and *fast* are three such clocks; slow <=
/// expected <= fast at every moment.
///
/// Order. What may be anything within an interval is taken at its worst, in this order: the time of the entry
/// (slow starts late, fast early), a silence (the envelope's ends, envelope.hpp), the sensor's error and
/// place, the lag of the surface (any τ(t) from half to twice, surface.hpp), the floor (slow stands still
/// below it). Humidity, film and load follow as factors that are 1 at the sheet's own (drying.hpp, film.hpp).
/// What is random, the spread of t and the scatter between pieces, is joined in quadrature and taken k times
/// (time_model.hpp).
///
/// What is told. An opening when the slow clock is there by readings and not by a value only held; a closing
/// when the fast one is. Between them stand the sheet's rule, the maker's hands and the limits: one table of
/// rows, the first that fits (verdict_table.hpp).
///
/// Limits. Outside a limit of its sheet a coat's times are vouched for by nobody: one passed while it was put
/// on or cured is listed, since when and until when, and the verdict is never `recoat` again. A limit that
/// the present air breaks for what goes on next keeps it from being `recoat` as long as it does
/// (unfit_air.hpp). What is only advised, and the lowest application temperature, are told and forbid
/// nothing.
///
/// Assumed. The sheet is true of this lot at its own conditions; a piece has one surface temperature; the
/// reading, its stated error and its place's cover the air at the piece; a film told nothing of is of the
/// sheet's own; below a floor that no sheet states lies the family's. Whatever rests on such a figure says
/// `assumed`.
///
/// What it cannot know. Whether the mix was right and stirred, what lies under the coat, what the air
/// carried, a draught or sunlight on one side; cure that stops for lack of warmth within a milestone other
/// than full cure; how rare an error is beyond what eighteen sheets and simulated shops can show. It says
/// nothing of people, of fumes or of food. Touch and the product's datasheet decide.
