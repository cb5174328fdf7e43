// sound, by another's ear: aubio (Brossier, "Automatic annotation of musical audio for interactive
// applications", 2006) hears the pitches and strokes of what the voice plays.
#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

#include <aubio/aubio.h>
#include <doctest/doctest.h>

#include "engine/sound/render_draft.h"
#include "tests/draft/drafts.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

constexpr SampleRate cd{44100};
constexpr uint_t window = 4096;
constexpr uint_t hop = 441;  // 10 ms

std::vector<float> played(const std::vector<Note>& notes, Seconds length, Cents tuning = Cents(0)) {
    Draft d;
    d.tuning = tuning;
    VoiceSettings settings;
    settings.which = WhichNotes::inked_and_pencilled;
    const PlayedPart part = prepare(pencil(std::move(d), notes).value(), settings);
    return render_part(part, {Seconds(0), length}, 1.0, cd).value().channels.front();
}

Note with(Note n, InflectionKind what) {
    n.inflections.push_back({std::move(what), {}, ""});
    return n;
}

struct Vector {
    explicit Vector(uint_t length) : data(new_fvec(length), &del_fvec) {}
    std::unique_ptr<fvec_t, decltype(&del_fvec)> data;
};

// [i] what is heard over the window that ends with hop i, in Hz; 0: nothing.
std::vector<double> pitches(const std::vector<float>& x) {
    const std::unique_ptr<aubio_pitch_t, decltype(&del_aubio_pitch)> ear(
        new_aubio_pitch("yin", window, hop, static_cast<uint_t>(cd.value())), &del_aubio_pitch);
    aubio_pitch_set_unit(ear.get(), "Hz");
    const Vector in(hop), out(1);
    std::vector<double> heard;
    for (std::size_t at = 0; at + hop <= x.size(); at += hop) {
        std::copy_n(x.begin() + static_cast<std::ptrdiff_t>(at), hop, in.data->data);
        aubio_pitch_do(ear.get(), in.data.get(), out.data.get());
        heard.push_back(out.data->data[0]);
    }
    return heard;
}

// The middle of what is heard in windows that lie within [from, to) seconds, in cents above key 0.
double cents_within(const std::vector<double>& heard, double from, double to) {
    std::vector<double> cents;
    for (std::size_t i = 0; i < heard.size(); ++i) {
        const double end = static_cast<double>((i + 1) * hop) / cd.value();
        if (end - window / cd.value() < from || end > to || heard[i] <= 0.0) continue;
        // 440 Hz is key 69 [ISO 16].
        cents.push_back(6900.0 + 1200.0 * std::log2(heard[i] / 440.0));
    }
    REQUIRE_FALSE(cents.empty());
    const auto middle = cents.begin() + static_cast<std::ptrdiff_t>(cents.size() / 2);
    std::nth_element(cents.begin(), middle, cents.end());
    return *middle;
}

std::vector<double> strokes(const std::vector<float>& x) {
    constexpr uint_t short_hop = 256;
    const std::unique_ptr<aubio_onset_t, decltype(&del_aubio_onset)> ear(
        new_aubio_onset("hfc", 1024, short_hop, static_cast<uint_t>(cd.value())), &del_aubio_onset);
    const Vector in(short_hop), out(1);
    std::vector<double> heard;
    for (std::size_t at = 0; at + short_hop <= x.size(); at += short_hop) {
        std::copy_n(x.begin() + static_cast<std::ptrdiff_t>(at), short_hop, in.data->data);
        aubio_onset_do(ear.get(), in.data.get(), out.data.get());
        if (out.data->data[0] > 0.0F) heard.push_back(aubio_onset_get_last_s(ear.get()));
    }
    return heard;
}

// A trained ear tells 2 to 5 cents apart on steady tones (limen, from memory).
constexpr double just_noticed = 5.0;

}  // namespace

TEST_CASE(
    "sound: another ear hears every key where equal temperament has it [ISO 16; aubio's YIN]") {
    std::vector<Note> notes;
    for (int key = 40; key <= 88; key += 3)
        notes.push_back(note(0.2 + (key - 40) * 0.2, 0.7 + (key - 40) * 0.2, key));
    const auto heard = pitches(played(notes, Seconds(11.0)));
    for (const Note& n : notes) {
        CAPTURE(n.key.value());
        const double cents = cents_within(heard, n.onset.value() + 0.02, n.offset.value() - 0.01);
        CHECK(std::abs(cents - 100.0 * n.key.value()) < just_noticed);
    }
    // A recording that lies 30 cents low is answered 30 cents low.
    const auto low = pitches(played({note(0.2, 0.9, 64)}, Seconds(1.2), Cents(-30)));
    CHECK(std::abs(cents_within(low, 0.25, 0.85) - 6370.0) < just_noticed);
}

TEST_CASE("sound: another ear hears bends and slides arrive [aubio's YIN]") {
    // Up a whole tone from 0.5 to 0.7 s; slid into from two frets below; two semitones down and on.
    const Bend bend{Cents(200), Seconds(0.5), Seconds(0.7), false, false, {}};
    const auto bent = pitches(played({with(note(0.2, 1.4, 67), bend)}, Seconds(1.6)));
    CHECK(std::abs(cents_within(bent, 0.25, 0.5) - 6700.0) < just_noticed);
    CHECK(std::abs(cents_within(bent, 0.75, 1.35) - 6900.0) < just_noticed);
    const SlideIn slide{MidiKey(65), SecondsRange{Seconds(0.4), Seconds(0.5)}};
    const auto slid = pitches(played({with(note(0.2, 1.2, 67), slide)}, Seconds(1.4)));
    CHECK(std::abs(cents_within(slid, 0.22, 0.4) - 6500.0) < just_noticed);
    CHECK(std::abs(cents_within(slid, 0.52, 1.15) - 6700.0) < just_noticed);
}

TEST_CASE("sound: another ear hears every stroke in its place, and none between notes [aubio]") {
    std::vector<Note> notes;
    std::vector<double> begins;
    for (int i = 0; i < 10; ++i) {
        begins.push_back(0.3 + 0.4 * i);
        notes.push_back(note(begins.back(), 0.3 + 0.4 * (i + 1), 60 + i));
        // Every third note slides on to the next one, a fret higher, which is not struck.
        if (i % 3 == 1) notes.back() = with(notes.back(), SlideToNext{});
    }
    const auto heard = strokes(played(notes, Seconds(5.0)));
    // Onsets are compared within 25 to 50 ms (common practice, no source).
    const auto at = [](double begin) {
        return [begin](double h) { return std::abs(h - begin) < 0.025; };
    };
    for (std::size_t i = 0; i < begins.size(); ++i) {
        CAPTURE(i);
        const auto count = std::count_if(heard.begin(), heard.end(), at(begins[i]));
        if (i % 3 != 2) CHECK(count == 1);
    }
    // A finger that arrives on the next fret may be taken for a soft stroke; nothing else is.
    for (const double h : heard) {
        CAPTURE(h);
        CHECK(
            std::any_of(begins.begin(), begins.end(), [&](double begin) { return at(begin)(h); }));
    }
}
