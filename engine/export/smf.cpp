// The bytes of a Standard MIDI File.
#include "engine/export/smf.h"

#include <algorithm>
#include <cassert>

namespace bentline {
namespace {

constexpr std::uint8_t end_of_track = 0x2F;

void append(Bytes& to, const Bytes& more) {
    to.insert(to.end(), more.begin(), more.end());
}

// The highest byte first, as all numbers in the file.
void append_number(Bytes& to, std::uint32_t value, int bytes) {
    for (int i = bytes - 1; i >= 0; --i)
        to.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

void append_name(Bytes& to, std::string_view four) {
    for (const char c : four)
        to.push_back(static_cast<std::uint8_t>(c));
}

Bytes meta(std::uint8_t type, const Bytes& data) {
    Bytes event = {0xFF, type};
    append(event, variable_length(static_cast<std::uint32_t>(data.size())));
    append(event, data);
    return event;
}

}  // namespace

Bytes variable_length(std::uint32_t value) {
    assert(value <= largest_quantity);
    Bytes bytes = {static_cast<std::uint8_t>(value & 0x7FU)};
    while ((value >>= 7U) != 0)
        bytes.push_back(static_cast<std::uint8_t>(0x80U | (value & 0x7FU)));
    std::reverse(bytes.begin(), bytes.end());
    return bytes;
}

void MidiTrack::add(std::int64_t tick, Rank rank, Bytes event) {
    assert(tick >= 0);
    events_.push_back({tick, rank, std::move(event)});
}

void MidiTrack::add_meta(std::int64_t tick, std::uint8_t type, const Bytes& data) {
    add(tick, Rank::meta, meta(type, data));
}

void MidiTrack::add_text(std::int64_t tick, std::uint8_t type, std::string_view text) {
    if (!text.empty()) add_meta(tick, type, Bytes(text.begin(), text.end()));
}

Bytes MidiTrack::chunk(std::int64_t end) const {
    std::vector<Event> ordered = events_;
    std::stable_sort(ordered.begin(), ordered.end(), [](const Event& a, const Event& b) {
        return a.tick != b.tick ? a.tick < b.tick : a.rank < b.rank;
    });
    Bytes body;
    std::int64_t now = 0;
    for (const Event& e : ordered) {
        append(body, variable_length(static_cast<std::uint32_t>(e.tick - now)));
        append(body, e.bytes);
        now = e.tick;
    }
    append(body, variable_length(static_cast<std::uint32_t>(std::max(end, now) - now)));
    append(body, meta(end_of_track, {}));

    Bytes chunk;
    append_name(chunk, "MTrk");
    append_number(chunk, static_cast<std::uint32_t>(body.size()), 4);
    append(chunk, body);
    return chunk;
}

Bytes midi_file(const std::vector<Bytes>& track_chunks, std::uint16_t division) {
    Bytes file;
    append_name(file, "MThd");
    append_number(file, 6, 4);
    append_number(file, 1, 2);
    append_number(file, static_cast<std::uint32_t>(track_chunks.size()), 2);
    append_number(file, division, 2);
    for (const Bytes& chunk : track_chunks)
        append(file, chunk);
    return file;
}

}  // namespace bentline
