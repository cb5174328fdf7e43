// Seconds of the recording to ticks of a MIDI file, and the tempo and metre events that say so.
//
// Tick 0 is the recording's first frame (or, where a note lies before it, a whole second before
// that note), so that the file lies under the recording in any program. Beats of the bar map fall
// on beats of the file and bars on bars: the stretch before the first whole beat is made one beat
// of its own tempo, and the bar that it begins is as short as it is. Without a bar map: 120 quarter
// notes a minute.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/units.h"

namespace bentline {

// Largest distance of a time from the time of its tick.
inline constexpr Seconds tick_accuracy{0.001};
// Largest distance of a beat of the file from the beat of the bar map.
inline constexpr Seconds beat_accuracy{0.001};

class TickMap {
  public:
    struct TempoEvent {
        std::int64_t tick;
        std::uint32_t microseconds;  // a quarter note
    };
    struct MetreEvent {
        std::int64_t tick;
        Metre metre;
    };

    // Covers the recording from its start, or `first` if that is earlier, to `last`.
    TickMap(const std::optional<BarMap>& bars, Seconds first, Seconds last);

    std::uint16_t ticks_per_quarter() const { return division_; }
    // time: not before start().
    std::int64_t tick_of(Seconds time) const;
    Seconds time_of(std::int64_t tick) const;
    // The first tick of a bar; empty where it lies before the file or beyond its last bar.
    std::optional<std::int64_t> tick_of_bar(int bar) const;
    Seconds start() const { return start_; }
    const std::vector<TempoEvent>& tempos() const { return tempos_; }
    const std::vector<MetreEvent>& metres() const { return metres_; }

  private:
    struct Beat {
        Seconds time;     // wanted
        double quarters;  // its length
        int bar;
        int beat_of_bar;
    };
    std::vector<Beat> beats_of(const BarMap& bars, Seconds last) const;
    void lay_out(const std::vector<Beat>& beats);
    void lay_metres(const std::vector<Beat>& beats, const BarMap& bars);

    Seconds start_;
    std::uint16_t division_ = 960;
    std::vector<TempoEvent> tempos_;
    std::vector<Seconds> tempo_times_;  // of each tempo event, from start_
    std::vector<MetreEvent> metres_;
    std::vector<std::pair<int, std::int64_t>> bar_ticks_;
};

}  // namespace bentline
