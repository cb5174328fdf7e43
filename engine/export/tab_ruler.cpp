// Beats as wide as they need.
#include "engine/export/tab_ruler.h"

#include <algorithm>

namespace bentline {

std::size_t TypedStroke::width() const {
    std::size_t characters = 0;
    for (const TypedOnString& one : typed)
        characters += one.text.size();
    return characters;
}

TabRuler::TabRuler(const std::vector<TypedStroke>& strokes, const Measure& measure)
    : skipped_(measure.skipped),
      beat_((measure.length + measure.skipped).value() / measure.metre.beats_per_bar()) {
    std::size_t at = 0;
    for (int beat = 0; beat < measure.metre.beats_per_bar(); ++beat) {
        starts_.push_back(at);
        widths_.push_back(beat < first_beat() ? 0 : needed(strokes, beat));
        at += static_cast<std::size_t>(widths_.back());
    }
    starts_.push_back(at);
}

std::size_t TabRuler::column(Ticks at) const {
    const std::int64_t t = (at + skipped_).value();
    const auto b = static_cast<std::size_t>(
        std::clamp<std::int64_t>(t / beat_.value(), 0, std::ssize(widths_)));
    if (b == widths_.size()) return starts_.back() - cut();
    const std::int64_t inside = t - static_cast<std::int64_t>(b) * beat_.value();
    return starts_[b] + static_cast<std::size_t>(inside * widths_[b] / beat_.value()) - cut();
}

std::size_t TabRuler::length() const {
    return starts_.back() - cut();
}

// A pickup begins inside a beat or on one.
int TabRuler::first_beat() const {
    return static_cast<int>(skipped_.value() / beat_.value());
}

std::size_t TabRuler::cut() const {
    const auto b = static_cast<std::size_t>(first_beat());
    const std::int64_t inside = skipped_.value() % beat_.value();
    return starts_[b] + static_cast<std::size_t>(inside * widths_[b] / beat_.value());
}

// The narrowest beat in which nothing runs into what follows it.
int TabRuler::needed(const std::vector<TypedStroke>& strokes, int beat) const {
    constexpr int narrowest = 3;
    constexpr int widest = 96;
    const std::int64_t from = beat * beat_.value() - skipped_.value();
    const std::int64_t to = from + beat_.value();
    for (int width = narrowest; width < widest; ++width) {
        bool fits = true;
        for (std::size_t i = 0; i < strokes.size() && fits; ++i) {
            const std::int64_t at = strokes[i].at.value();
            if (at < from || to <= at) continue;
            const std::int64_t next =
                i + 1 < strokes.size() ? std::min(strokes[i + 1].at.value(), to) : to;
            const std::int64_t room =
                (next - from) * width / beat_.value() - (at - from) * width / beat_.value();
            fits = static_cast<std::int64_t>(strokes[i].width()) + 1 <= room;
        }
        if (fits) return width;
    }
    return widest;
}

}  // namespace bentline
