// The bytes of a Standard MIDI File (format 1): variable-length quantities, chunks, events.
//
// Source: Standard MIDI Files 1.0 (MIDI Manufacturers Association, 1996), "Format of the file".
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace bentline {

using Bytes = std::vector<std::uint8_t>;

// A quantity as a delta time or a length is written: seven bits a byte, the highest first. value:
// at most 0x0FFFFFFF.
inline constexpr std::uint32_t largest_quantity = 0x0FFFFFFF;
Bytes variable_length(std::uint32_t value);

// One track's events. They may be added in any order; equal ticks are written by rank, then in the
// order of adding.
class MidiTrack {
  public:
    // What comes first at one tick: a note ends before the wheel turns before the next note begins.
    enum class Rank { meta, note_off, control, wheel, note_on };

    void add(std::int64_t tick, Rank rank, Bytes event);
    // FF type length data, with a text or with bytes.
    void add_meta(std::int64_t tick, std::uint8_t type, const Bytes& data);
    void add_text(std::int64_t tick, std::uint8_t type, std::string_view text);

    // The chunk "MTrk", ended by the end-of-track event at `end` or the last event, whichever is
    // later.
    Bytes chunk(std::int64_t end) const;

  private:
    struct Event {
        std::int64_t tick;
        Rank rank;
        Bytes bytes;
    };
    std::vector<Event> events_;
};

// The whole file: the header chunk for format 1 and the tracks. division: ticks a quarter note.
Bytes midi_file(const std::vector<Bytes>& track_chunks, std::uint16_t division);

}  // namespace bentline
