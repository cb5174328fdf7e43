// Tells slides to the next note from slides to nowhere.
#include "engine/notes/arrivals.h"

#include <algorithm>
#include <cstdlib>

namespace bentline::notes {

namespace {

constexpr Seconds at_once{0.06};  // from the end of one note to the beginning of the next; chosen

bool arrives_at(const SlideOut& slide, const Note& note, const Note& next) {
    return slide.to && *slide.to == next.key && next.onset - note.offset < at_once;
}

}  // namespace

void read_arrivals(std::vector<Note>& notes) {
    for (std::size_t i = 0; i + 1 < notes.size(); ++i) {
        Note& note = notes[i];
        const auto arrived = std::find_if(
            note.inflections.begin(), note.inflections.end(), [&](const Inflection& f) {
                const auto* slide = std::get_if<SlideOut>(&f.what);
                return slide != nullptr && arrives_at(*slide, note, notes[i + 1]);
            });
        if (arrived == note.inflections.end()) continue;
        if (std::abs(notes[i + 1].key.value() - note.key.value()) < 2) {
            note.inflections.erase(arrived);
            continue;
        }
        const SlideOut slide = std::get<SlideOut>(arrived->what);
        arrived->what = SlideToNext{slide.span, slide.span_error};
        arrived->reason += ", where the next note begins";
    }
}

}  // namespace bentline::notes
