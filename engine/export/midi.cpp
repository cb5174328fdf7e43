// A draft as a Standard MIDI File.
#include "engine/export/midi.h"

#include <algorithm>
#include <cmath>
#include <string_view>
#include <utility>

#include "engine/export/handout.h"
#include "engine/export/tick_map.h"
#include "engine/export/wheel.h"
#include "engine/median.h"
#include "engine/recording/atomic_file.h"

namespace bentline {
namespace {

using Rank = MidiTrack::Rank;

// Meta event types (Standard MIDI Files 1.0, "Meta-Events").
constexpr std::uint8_t meta_text = 0x01;
constexpr std::uint8_t meta_name = 0x03;
constexpr std::uint8_t meta_marker = 0x06;
constexpr std::uint8_t meta_tempo = 0x51;
constexpr std::uint8_t meta_metre = 0x58;
constexpr std::uint8_t meta_key = 0x59;

// Channel messages on channel 1 (MIDI 1.0).
constexpr std::uint8_t note_off = 0x80;
constexpr std::uint8_t note_on = 0x90;
constexpr std::uint8_t control_change = 0xB0;
constexpr std::uint8_t program_change = 0xC0;
constexpr std::uint8_t pitch_wheel = 0xE0;
constexpr std::uint8_t release_velocity = 64;
constexpr int centre = 8192;

// A slide to the next note arrives where that note begins, give or take this.
constexpr Seconds arrival_slack{0.05};

std::uint8_t byte(int value) {
    return static_cast<std::uint8_t>(value);
}

void add_metre(MidiTrack& track, std::int64_t tick, const Metre& metre) {
    int power = 0;
    while ((1 << power) < metre.unit)
        ++power;
    const auto clocks = std::lround(24.0 * metre.quarters_per_beat());  // a metronome click a beat
    track.add_meta(tick, meta_metre,
                   {byte(metre.count), byte(power), byte(static_cast<int>(clocks)), 8});
}

// The key at the beginning, and where a section stands in another.
void add_keys(MidiTrack& track, const Draft& draft, const TickMap& ticks) {
    const Keys keys = draft.keys();
    std::optional<Key> now;
    const auto add = [&](std::int64_t tick, const std::optional<Key>& key) {
        if (!key || key == now) return;
        track.add_meta(tick, meta_key, {byte(key->fifths), byte(key->minor ? 1 : 0)});
        now = key;
    };
    const int first = keys.form.empty() ? 1 : keys.form.front().first_bar;
    add(0, key_at(keys, std::max(1, first)));
    for (const Section& s : keys.form) {
        for (const int bar : {s.first_bar, s.first_bar + s.bars}) {
            if (const auto tick = ticks.tick_of_bar(bar)) add(*tick, key_at(keys, bar));
        }
    }
}

MidiTrack conductor(const Draft& draft, const TickMap& ticks) {
    MidiTrack track;
    track.add_text(0, meta_name, draft.title);
    for (const TickMap::MetreEvent& m : ticks.metres())
        add_metre(track, m.tick, m.metre);
    add_keys(track, draft, ticks);
    for (const TickMap::TempoEvent& t : ticks.tempos()) {
        track.add_meta(t.tick, meta_tempo,
                       {byte(static_cast<int>(t.microseconds >> 16U & 0xFFU)),
                        byte(static_cast<int>(t.microseconds >> 8U & 0xFFU)),
                        byte(static_cast<int>(t.microseconds & 0xFFU))});
    }
    if (draft.form.empty()) {
        if (const auto tick = ticks.tick_of_bar(1)) track.add_text(*tick, meta_marker, "bar 1");
    }
    for (const Section& s : draft.form) {
        const auto tick = ticks.tick_of_bar(s.first_bar);
        if (tick)
            track.add_text(*tick, meta_marker, s.letter + ", bar " + std::to_string(s.first_bar));
    }
    for (std::size_t i = 0; i < draft.chords.size(); ++i) {
        const auto tick = ticks.tick_of_bar(static_cast<int>(i) + 1);
        if (tick) track.add_text(*tick, meta_text, draft.chords[i]);
    }
    return track;
}

Decibels median_level(const std::vector<Note>& notes) {
    std::vector<Decibels> levels;
    for (const Note& n : notes) {
        if (n.level) levels.push_back(*n.level);
    }
    if (levels.empty()) return Decibels(0.0);
    return median(std::move(levels));
}

// The note that notes[i] slides on to, if it is among those that are written.
const Note* slid_to(const std::vector<Note>& notes, std::size_t i) {
    if (!find<SlideToNext>(notes[i]) || i + 1 >= notes.size()) return nullptr;
    const Note& next = notes[i + 1];
    return next.onset - notes[i].offset <= arrival_slack ? &next : nullptr;
}

class SoloTrack {
  public:
    SoloTrack(const std::vector<Note>& notes, const TickMap& ticks, const MidiSettings& settings)
        : notes_(notes), ticks_(ticks), settings_(settings), median_(median_level(notes)) {
        track_.add_text(0, meta_name, "Solo");
        track_.add(0, Rank::control, {program_change, byte(std::clamp(settings.program, 0, 127))});
        if (!settings.plain) add_courses();
        for (std::size_t i = 0; i < notes_.size(); ++i)
            add_note(i);
    }
    const MidiTrack& track() const { return track_; }

  private:
    void add_note(std::size_t i) {
        const Note& n = notes_[i];
        const std::int64_t on = ticks_.tick_of(n.onset);
        const std::int64_t off = std::max(on + 1, ticks_.tick_of(n.offset));
        track_.add(on, Rank::note_on, {note_on, byte(n.key.value()), byte(velocity(i))});
        track_.add(off, Rank::note_off, {note_off, byte(n.key.value()), release_velocity});
    }

    int velocity(std::size_t i) const {
        const Note& n = notes_[i];
        int v = settings_.usual_velocity;
        if (n.level) v = velocity_of(*n.level - median_, v);
        if (find<Accent>(n)) v += settings_.accent;
        const bool struck = i == 0 || slid_to(notes_, i - 1) == nullptr;
        if (!struck) v = static_cast<int>(std::lround(v * settings_.unstruck));
        return std::clamp(v, 1, 127);
    }

    void add_courses() {
        std::vector<std::vector<WheelPoint>> courses;
        Cents most{0.0};
        for (std::size_t i = 0; i < notes_.size(); ++i) {
            const Note* next = slid_to(notes_, i);
            courses.push_back(
                wheel_course(notes_[i], next ? std::optional(next->key) : std::nullopt));
            most = std::max(most, reach(courses.back()));
        }
        range_ = wheel_range(most);
        set_range();
        for (std::size_t i = 0; i < notes_.size(); ++i)
            add_course(i, courses[i]);
    }

    // Registered parameter 0, its value, then the null parameter, so that a stray data entry later
    // on changes nothing.
    void set_range() {
        for (const auto& [controller, value] : std::initializer_list<std::pair<int, int>>{
                 {101, 0}, {100, 0}, {6, range_}, {38, 0}, {101, 127}, {100, 127}}) {
            track_.add(0, Rank::control, {control_change, byte(controller), byte(value)});
        }
        turn(0, centre);
    }

    void add_course(std::size_t i, const std::vector<WheelPoint>& course) {
        if (course.empty()) return;
        for (const WheelPoint& p : course) {
            turn(ticks_.tick_of(p.time), wheel_position(p.away, range_));
        }
        Seconds rest = notes_[i].offset + wheel_rest;
        if (i + 1 < notes_.size()) rest = std::min(rest, notes_[i + 1].onset);
        turn(ticks_.tick_of(rest), centre);
    }

    void turn(std::int64_t tick, int position) {
        if (position == position_) return;
        position_ = position;
        track_.add(tick, Rank::wheel, {pitch_wheel, byte(position & 0x7F), byte(position >> 7)});
    }

    const std::vector<Note>& notes_;
    const TickMap& ticks_;
    const MidiSettings& settings_;
    Decibels median_;
    int range_ = 2;
    int position_ = -1;  // of the wheel; not set yet
    MidiTrack track_;
};

}  // namespace

int velocity_of(Decibels above, int usual) {
    const double v = usual * std::pow(10.0, above.value() / 40.0);
    return static_cast<int>(std::lround(std::clamp(v, 1.0, 127.0)));
}

Result<Bytes> midi_bytes(const Draft& draft, const MidiSettings& settings) {
    const std::vector<Note> notes = select_notes(draft, settings.which);
    if (notes.empty()) {
        return nothing_to_hand_out(draft, settings.which);
    }
    const Seconds last = notes.back().offset + wheel_rest;
    const TickMap ticks(draft.bars, notes.front().onset, last);
    const std::int64_t end = ticks.tick_of(last);
    const SoloTrack solo(notes, ticks, settings);
    return midi_file({conductor(draft, ticks).chunk(end), solo.track().chunk(end)},
                     ticks.ticks_per_quarter());
}

Result<Done> export_midi(const Draft& draft, const std::filesystem::path& path,
                         const MidiSettings& settings) {
    const auto bytes = midi_bytes(draft, settings);
    if (!bytes) return bytes.failure();
    return write_file(path, {reinterpret_cast<const char*>(bytes->data()), bytes->size()});
}

}  // namespace bentline
