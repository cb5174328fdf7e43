// pitch: what follows a damped note in the room is no longer the note.
#include <cstddef>
#include <vector>

#include <doctest/doctest.h>

#include "engine/pitch/damped_tails.h"

using namespace bentline;

namespace {

constexpr Seconds hop{0.005};

// A note of 440 Hz alone: silence, then pieces of so many moments that sink by so many dB each.
struct Piece {
    std::size_t moments;
    double sinks;
};
std::vector<HeardMoment> line_of(const std::vector<Piece>& pieces) {
    std::vector<HeardMoment> line(20);
    double level = -20.0;
    for (const Piece& p : pieces) {
        for (std::size_t i = 0; i < p.moments; ++i) {
            level -= p.sinks;
            line.push_back({Hertz(440.0), level, 0.01});
        }
    }
    line.resize(line.size() + 20);
    return line;
}

std::size_t count(const std::vector<bool>& tails) {
    std::size_t n = 0;
    for (const bool t : tails)
        n += t ? 1 : 0;
    return n;
}

}  // namespace

// A string sinks by 20 dB a second; a hand takes 14 dB within 10 ms, of a release of 43 ms to
// -60 dB; a room of 0.6 s to -60 dB sinks by 100 a second (common practice, no source).
const std::vector<Piece> damped_in_room{{60, 0.1}, {2, 7.0}, {20, 0.5}};

TEST_CASE("pitch: a tail begins where the hand has damped the note, and reaches to its end") {
    const auto tails = damped_tails(line_of(damped_in_room), hop);
    const std::size_t damped = 20 + 60;  // the first moment of the fall
    for (std::size_t i = 0; i < damped; ++i)
        CHECK_FALSE(tails[i]);
    // 16 dB at 7 dB a moment are three moments from the last before the fall.
    CHECK_FALSE(tails[damped]);
    CHECK(tails[damped + 2]);
    for (std::size_t i = damped + 2; i < damped + 22; ++i)
        CHECK(tails[i]);
}

TEST_CASE("pitch: a string that rings on has no tail, however fast it sinks by itself") {
    CHECK(count(damped_tails(line_of({{60, 0.1}, {60, 0.2}}), hop)) == 0);
    CHECK(count(damped_tails(line_of({{80, 0.7}}), hop)) == 0);  // 140 dB a second: a muted string
    // What falls once and then stays is no room's.
    CHECK(count(damped_tails(line_of({{60, 0.1}, {2, 7.0}, {30, 0.0}}), hop)) == 0);
    // What sounds longer than any tail sounds by itself.
    CHECK(count(damped_tails(line_of({{60, 0.1}, {2, 7.0}, {90, 0.4}}), hop)) == 0);
}

TEST_CASE("pitch: no tail where the fall is the attack's own, a slide's, or among others") {
    CHECK(count(damped_tails(line_of({{5, 0.1}, {2, 7.0}, {20, 0.5}}), hop)) == 0);

    std::vector<HeardMoment> slid = line_of(damped_in_room);
    for (std::size_t i = 76; i < slid.size(); ++i) {
        if (slid[i].pitch) slid[i].pitch = frequency(pitch_of(*slid[i].pitch) + Cents(100.0));
    }
    CHECK(count(damped_tails(slid, hop)) == 0);

    std::vector<HeardMoment> among = line_of(damped_in_room);
    for (HeardMoment& m : among)
        m.aperiodicity = 0.2;
    CHECK(count(damped_tails(among, hop)) == 0);
}

TEST_CASE("pitch: a tail is over where a string is struck again, from the rise's first moment") {
    std::vector<HeardMoment> again =
        line_of({{60, 0.1}, {2, 7.0}, {12, 0.5}, {1, -15.0}, {30, 0.1}});
    const auto tails = damped_tails(again, hop);
    const std::size_t struck = 20 + 60 + 2 + 12;
    CHECK(tails[struck - 1]);
    for (std::size_t i = struck; i < again.size(); ++i)
        CHECK_FALSE(tails[i]);
}

TEST_CASE("pitch: nothing and little have no tails") {
    CHECK(damped_tails({}, hop).empty());
    CHECK(count(damped_tails(line_of({{3, 7.0}}), Seconds(0.02))) == 0);
}
