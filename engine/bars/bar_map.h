// The bar map: the single owner of time. Turns seconds of the recording into bars and beats and
// back.
//
// The map is a row of anchors, each saying "this beat is heard at this time". Between two anchors
// time runs evenly; before the first and after the last it runs on at a stated beat length. A
// constant tempo is one anchor; followed or tapped beats are an anchor a beat. Callers never need
// to know which.
//
// A value: cheap to copy (its parts are shared), never changed; edits make a new one. [any]
// Accuracy: time_of(beats_at(t)) returns t within 1 microsecond over 24 hours.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/bars/metre.h"
#include "engine/result.h"
#include "engine/units.h"

namespace bentline {

class BarMap {
  public:
    // Beat `beat` (0: the first of bar 1; negative before) is heard at `time`.
    struct Anchor {
        int beat = 0;
        Seconds time;
        friend bool operator==(const Anchor&, const Anchor&) = default;
    };
    // From this bar on the metre is `metre`.
    struct MetreFrom {
        int bar = 1;
        Metre metre;
        friend bool operator==(const MetreFrom&, const MetreFrom&) = default;
    };
    // Everything that a map is made of, for files and edits.
    struct Parts {
        std::vector<Anchor> anchors;  // at least one; beats and times both strictly rising
        Seconds beat_before{0.5};     // beat length before the first anchor
        Seconds beat_after{0.5};      // beat length after the last
        std::vector<MetreFrom> metres{
            {1, Metre{}}};  // first at bar 1 (and all before it); bars rising
        int pickup = 0;     // whole beats before bar 1 that belong to the tune; less than a bar
        std::vector<Range<int>> free_bars;  // bars played without a pulse; rising, apart
        friend bool operator==(const Parts&, const Parts&) = default;
    };

    // A constant tempo, 20 to 400 beats a minute, with bar 1 at `bar_one` (may lie before 0 or past
    // the end). Fails with out_of_range.
    static Result<BarMap> constant(Tempo tempo, Seconds bar_one, Metre metre = {});
    // An anchor a beat. beats: at least two, strictly rising. bar_one: which of them (0-based) is
    // the first beat of bar 1. Fails with out_of_range and says which beat is out of order.
    static Result<BarMap> from_beats(const std::vector<Seconds>& beats, int bar_one,
                                     Metre metre = {});
    // Checks everything that Parts states. Fails with out_of_range.
    static Result<BarMap> make(Parts parts);
    const Parts& parts() const { return *parts_; }

    // Seconds <-> counted beats. Both rise strictly and are each other's inverse.
    Seconds time_of(Beats position) const;
    Beats beats_at(Seconds time) const;

    // Bars and beats <-> counted beats. A position within a millionth of a beat of a whole beat
    // counts as that beat, so that rounding never prints "6:4.999".
    Beats beats_of(BarBeat position) const;
    BarBeat position_of(Beats position) const;
    Seconds time_of(BarBeat position) const { return time_of(beats_of(position)); }
    BarBeat position_at(Seconds time) const { return position_of(beats_at(time)); }

    // A bar, [its first beat, the next bar's first beat).
    SecondsRange bar_span(int bar) const;
    Metre metre_at(int bar) const;
    bool single_metre() const { return parts_->metres.size() == 1; }
    // The metre of bar 1.
    Metre metre() const { return parts_->metres.front().metre; }
    int pickup() const { return parts_->pickup; }
    bool free_at(int bar) const;
    // Of the stretch of the map around a position.
    Tempo tempo_at(Beats position) const;
    bool constant_tempo() const { return parts_->anchors.size() == 1; }

    // The same beats in one metre throughout; bar 1 stays where it is, the pickup is kept if it
    // fits.
    Result<BarMap> with_metre(Metre metre) const;
    Result<BarMap> with_pickup(int beats) const;

    friend bool operator==(const BarMap& a, const BarMap& b) {
        return a.parts_ == b.parts_ || *a.parts_ == *b.parts_;
    }

  private:
    explicit BarMap(Parts parts) : parts_(std::make_shared<const Parts>(std::move(parts))) {}
    std::shared_ptr<const Parts> parts_;
};

// A place that a user typed: seconds ("12.5") or, where there is a map, bar:beat ("7:1"). Fails
// with out_of_range when it is neither, when there is no map, or when the bar has no such beat.
Result<Seconds> parse_place(std::string_view text, const std::optional<BarMap>& bars);

// How a time is called in messages: "bar 7:1" with a map, "12.345 s" without.
std::string place_name(Seconds time, const std::optional<BarMap>& bars);

}  // namespace bentline
