// Readings as coomb wants them: flat JSON objects of quantities with their units in their names.
#pragma once

#include "reading.h"

// Bytes one reading can take at most, with its comma.
const size_t READING_BYTES = 160;

// One reading without a time, to be dated by whoever receives it. Returns the length, or 0 if it does not fit.
size_t write_live(char* out, size_t room, const Reading& reading);

// An array of dated readings, each with its own time. Returns the length, or 0 if it does not fit.
size_t write_batch(char* out, size_t room, const Reading* readings, size_t count);
