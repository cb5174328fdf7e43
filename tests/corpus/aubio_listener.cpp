// The reference row: pitch and onsets by aubio.
#include <algorithm>
#include <cmath>
#include <vector>

#include <aubio/aubio.h>

#include "tests/corpus/listeners.h"

namespace bentline::corpus {

namespace {

std::vector<float> mono_of(const Audio& audio) {
    std::vector<float> mono = audio.channels.front();
    if (audio.channels.size() > 1) {
        for (std::size_t i = 0; i < mono.size(); ++i)
            mono[i] = 0.5F * (mono[i] + audio.channels[1][i]);
    }
    return mono;
}

PitchRows pitch_rows(const std::vector<float>& mono, SampleRate rate) {
    constexpr uint_t size = 2048;
    const auto hop = static_cast<uint_t>(rate.value() / 100);
    aubio_pitch_t* pitch = new_aubio_pitch("yinfft", size, hop, static_cast<uint_t>(rate.value()));
    aubio_pitch_set_unit(pitch, "Hz");
    aubio_pitch_set_silence(pitch, -60.0F);
    fvec_t* in = new_fvec(hop);
    fvec_t* out = new_fvec(1);
    const std::size_t rows = mono.size() / hop + 1;
    PitchRows found(rows);
    // After hop k the window's middle lies at (k + 1) hop - size / 2.
    const double late = 0.5 * size / hop - 1.0;
    for (std::size_t k = 0; k < rows + size / hop; ++k) {
        for (uint_t i = 0; i < hop; ++i) {
            const std::size_t at = k * hop + i;
            in->data[i] = at < mono.size() ? mono[at] : 0.0F;
        }
        aubio_pitch_do(pitch, in, out);
        const double row = std::round(static_cast<double>(k) - late);
        if (row >= 0.0 && row < static_cast<double>(rows) && out->data[0] > 20.0F) {
            found[static_cast<std::size_t>(row)] = Hertz(out->data[0]);
        }
    }
    del_fvec(in);
    del_fvec(out);
    del_aubio_pitch(pitch);
    return found;
}

std::vector<Seconds> onsets(const std::vector<float>& mono, SampleRate rate) {
    constexpr uint_t hop = 256;
    aubio_onset_t* onset = new_aubio_onset("default", 1024, hop, static_cast<uint_t>(rate.value()));
    fvec_t* in = new_fvec(hop);
    fvec_t* out = new_fvec(1);
    std::vector<Seconds> found;
    for (std::size_t at = 0; at + hop <= mono.size(); at += hop) {
        std::copy_n(mono.begin() + static_cast<std::ptrdiff_t>(at), hop, in->data);
        aubio_onset_do(onset, in, out);
        if (out->data[0] > 0.0F) found.emplace_back(aubio_onset_get_last_s(onset));
    }
    del_fvec(in);
    del_fvec(out);
    del_aubio_onset(onset);
    return found;
}

}  // namespace

Heard hear_with_aubio(const Audio& audio) {
    const std::vector<float> mono = mono_of(audio);
    Heard heard;
    heard.rows = pitch_rows(mono, audio.rate);
    const auto starts = onsets(mono, audio.rate);
    for (std::size_t i = 0; i < starts.size(); ++i) {
        const Seconds limit = i + 1 < starts.size() ? starts[i + 1] : audio.duration();
        std::vector<double> pitches;
        Seconds end = starts[i];
        for (auto r = static_cast<std::size_t>(starts[i] / row_step) + 1; r < heard.rows.size();
             ++r) {
            const Seconds t = row_step * static_cast<double>(r);
            if (t >= limit || (!heard.rows[r] && !pitches.empty())) break;
            if (heard.rows[r]) pitches.push_back(pitch_of(*heard.rows[r]).value());
            end = t;
        }
        if (pitches.size() < 3) continue;
        Note n;
        n.onset = starts[i];
        n.offset = end;
        n.key = nearest_key(Pitch(median(pitches)));
        heard.notes.push_back(n);
    }
    return heard;
}

}  // namespace bentline::corpus
