// From a draft to strokes.
#include "engine/sound/played_part.h"

#include <algorithm>
#include <utility>

#include "engine/median.h"

namespace bentline {
namespace {

// A slide to the next note arrives where that note begins, give or take this.
constexpr Seconds arrival_slack{0.05};

std::optional<Decibels> median_level(const std::vector<Note>& notes) {
    std::vector<Decibels> levels;
    for (const Note& n : notes) {
        if (n.level) levels.push_back(*n.level);
    }
    if (levels.empty()) return std::nullopt;
    return median(std::move(levels));
}

bool slides_on(const std::vector<Note>& notes, std::size_t i) {
    return find<SlideToNext>(notes[i]) != nullptr && i + 1 < notes.size() &&
           notes[i + 1].onset - notes[i].offset <= arrival_slack;
}

}  // namespace

PlayedPart prepare(const Draft& draft, const VoiceSettings& settings) {
    const std::vector<Note> notes = select_notes(draft, settings.which);
    const std::optional<Decibels> middle = median_level(notes);
    PlayedPart part;
    part.tuning = draft.tuning;
    part.notes.reserve(notes.size());
    for (std::size_t i = 0; i < notes.size(); ++i) {
        const Note& n = notes[i];
        PlayedNote p;
        p.onset = n.onset;
        p.offset = n.offset;
        Decibels above{0.0};
        if (n.level && middle)
            above = std::clamp(*n.level - *middle, settings.quietest, settings.loudest);
        p.level = settings.middle + above;
        p.measured = n.level.has_value();
        if (settings.plain) {
            p.course = PitchCourse(n.key);
        } else {
            p.struck = i == 0 || !slides_on(notes, i - 1);
            p.accent = find<Accent>(n) != nullptr;
            p.staccato = find<Staccato>(n) != nullptr;
            if (p.accent) p.level += settings.accent;
            const bool on = slides_on(notes, i);
            p.course = PitchCourse(n, on ? std::optional(notes[i + 1].key) : std::nullopt,
                                   settings.slides);
            if (on) p.offset = notes[i + 1].onset;
        }
        part.notes.push_back(p);
    }
    return part;
}

std::optional<Decibels> measured_middle(const Draft& draft) {
    const auto middle = median_level(select_notes(draft, WhichNotes::inked_and_pencilled));
    if (!middle) return std::nullopt;
    return std::clamp(*middle, Decibels(-40.0), Decibels(-12.0));
}

}  // namespace bentline
