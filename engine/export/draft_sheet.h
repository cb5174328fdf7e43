// A draft's printed sheet: score and fingering engraved, with the title block that the draft fills.
// [any]
#pragma once

#include "engine/draft/draft.h"
#include "engine/export/engraving/engraving.h"
#include "engine/export/sheet.h"
#include "engine/tab/finger_draft.h"

namespace bentline {

struct DraftSheetSettings {
    bool plain = false;  // without the signs of bends, slides and vibrato
    engraving::Settings engraving;
};

engraving::TabPlan tab_plan(const DraftFingering& fingering);

// What the title block says of a draft: tuning of the recording and of the guitar, rights.
engraving::Heading heading_of(const Draft& draft);

// The score as it stands on a plain sheet: without bends, slides, falls, trills and wavy lines.
Score without_inflections(Score score);

// `score` and `fingering`: of that draft. Fails as engrave(), with not_found or unreadable where a
// font is missing, and as sheet_bytes().
Result<std::string> draft_sheet(const Draft& draft, const Score& score,
                                const DraftFingering& fingering, SheetFormat format,
                                const DraftSheetSettings& settings = {});

}  // namespace bentline
