#include "tests/corpus/guitar_clips.h"

#include <cmath>
#include <filesystem>
#include <string>

#include "engine/recording/recording.h"
#include "tests/corpus/repetition.h"

namespace bentline::corpus {

namespace {

// The first string of a rolled chord, until the second is struck; and a tone before it slides.
// Read off their spectra; keys as heard there.
struct Clip {
    const char* file;
    int key;
    double until;  // seconds
};
constexpr Clip found[] = {{"guit_em9.flac", 59, 0.2}, {"guit_e_slide.flac", 76, 0.19}};

}  // namespace

Result<std::vector<RecordedTone>> guitar_clip_tones() {
    const std::filesystem::path folder = "/usr/share/sonic-pi/samples";
    std::vector<RecordedTone> tones;
    for (const Clip& clip : found) {
        auto recording = Recording::open(folder / clip.file);
        if (!recording) return recording.failure();
        const auto audio = recording->read_all();
        if (!audio) return audio.failure();
        RecordedTone tone;
        tone.key = MidiKey(clip.key);
        tone.rate = audio->rate.value();
        const auto frames = static_cast<std::size_t>(clip.until * tone.rate);
        for (std::size_t i = 0; i < frames && i < audio->channels[0].size(); ++i) {
            float sum = 0.0F;
            for (const auto& channel : audio->channels)
                sum += channel[i];
            tone.samples.push_back(sum / static_cast<float>(audio->channels.size()));
        }
        // The loop wants the period to a fraction of a frame.
        const auto end = std::span(tone.samples).subspan(frames / 2);
        const auto f = repetition_rate(end, audio->rate, frequency(Pitch(clip.key)));
        loop_the_end(tone, f.value_or(frequency(Pitch(clip.key))));
        tones.push_back(std::move(tone));
    }
    return tones;
}

}  // namespace bentline::corpus
