// From draft to sheet.
#include "engine/export/draft_sheet.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bentline {

namespace {

std::string key_name(MidiKey key) {
    static constexpr std::array<const char*, 12> names{"C",  "C♯", "D",  "E♭", "E",  "F",
                                                       "F♯", "G",  "A♭", "A",  "B♭", "B"};
    return names[static_cast<std::size_t>(key.value() % 12)];
}

// "Tuning D A D G B E (low to high)   Capo 2"; empty for the standard guitar.
std::string describe(const Neck& neck) {
    std::string text;
    if (neck.open != standard_neck().open) {
        text = "Tuning";
        for (std::size_t i = neck.open.size(); i-- > 0;)
            text += " " + key_name(neck.open[i]);
    }
    if (neck.capo > 0) text += (text.empty() ? "Capo " : "   Capo ") + std::to_string(neck.capo);
    return text;
}

}  // namespace

engraving::TabPlan tab_plan(const DraftFingering& fingering) {
    engraving::TabPlan plan;
    plan.strings = fingering.neck.strings();
    for (std::size_t i = 0; i < fingering.ids.size(); ++i) {
        if (const auto& spot = fingering.fingering.notes[i].spot)
            plan.spots[fingering.ids[i]] = {spot->string, spot->fret};
    }
    return plan;
}

engraving::Heading heading_of(const Draft& draft) {
    engraving::Heading heading;
    const long cents = std::lround(draft.tuning.value());
    if (cents != 0) {
        heading.recording = "The recording sounds " + std::to_string(std::abs(cents)) + " cents " +
                            (cents < 0 ? "below" : "above") + " A = 440 Hz";
    }
    heading.tuning = describe(draft.neck);
    heading.rights =
        "A solo and a recording have owners: check the rights, and the law where you are, before "
        "you "
        "hand out copies.";
    return heading;
}

Score without_inflections(Score score) {
    for (Measure& measure : score.measures) {
        for (Event& event : measure.events) {
            if (!event.head) continue;
            std::erase_if(event.head->signs, [](const Sign& sign) {
                return !std::holds_alternative<DotSign>(sign) &&
                       !std::holds_alternative<AccentSign>(sign);
            });
            std::erase_if(event.head->graces, [](const GraceNote& grace) { return !grace.note; });
        }
    }
    return score;
}

Result<std::string> draft_sheet(const Draft& draft, const Score& score,
                                const DraftFingering& fingering, SheetFormat format,
                                const DraftSheetSettings& settings) {
    const auto fonts = engraving::load_fonts();
    if (!fonts) return fonts.failure();
    const auto sheet =
        engraving::engrave(settings.plain ? without_inflections(score) : score, tab_plan(fingering),
                           heading_of(draft), *fonts, settings.engraving);
    if (!sheet) return sheet.failure();
    return sheet_bytes(*sheet, *fonts, format, score.title);
}

}  // namespace bentline
