// The sheet: engraved pages drawn by Cairo as PDF or SVG.
//
// A PDF has the paper's own page size in points (1/72 in) and carries its words as text that can be
// searched. An SVG holds all pages, one below the other, in one drawing. The same pages give the
// same bytes: no date, no running number of the library goes in. [any]
#pragma once

#include <filesystem>
#include <string>

#include "engine/export/engraving/engraving.h"
#include "engine/result.h"

namespace bentline {

enum class SheetFormat { pdf, svg };

// By the ending of the name; fails with out_of_range for another than .pdf or .svg.
Result<SheetFormat> sheet_format(const std::filesystem::path& path);

// Failures: unreadable (a font file that was there a moment ago), cannot_write (the drawing library
// gave up; the sentence says why).
Result<std::string> sheet_bytes(const engraving::Sheet& sheet, const engraving::Fonts& fonts,
                                SheetFormat format, const std::string& title);

}  // namespace bentline
