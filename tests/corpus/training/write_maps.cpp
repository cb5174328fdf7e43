// Writes what the lead network learns from: maps of training takes and the pitch that is true.
//
//   bentline_write_maps FROM TO FILE FONT…
//
// The file holds, for each frame of each take: loudness, relief and place of every bin as bytes
// (from 0 to 1.25, -1 to 2 and -1 to 1), then the lead's pitch in bins above the lowest as a 32-bit
// float: -1 where he rests, -2 where the next take begins (a frame that stands for nothing). An
// existing file grows.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <string>
#include <vector>

#include "engine/pitch/front_end.h"
#include "engine/pitch/sound_map.h"
#include "tests/corpus/training/wide_takes.h"

using namespace bentline;

namespace {

std::uint8_t byte_of(float v, float low, float high) {
    return static_cast<std::uint8_t>(
        std::lround(255.0F * std::clamp((v - low) / (high - low), 0.0F, 1.0F)));
}

void append(std::vector<char>& out, const SoundMap& map, std::size_t frame, float truth) {
    for (const auto& [plane, low, high] :
         {std::tuple{map_loudness, 0.0F, 1.25F}, std::tuple{map_relief, -1.0F, 2.0F},
          std::tuple{map_place, -1.0F, 1.0F}}) {
        for (const float v : map.plane(frame, plane))
            out.push_back(static_cast<char>(byte_of(v, low, high)));
    }
    char bytes[sizeof truth];
    std::memcpy(bytes, &truth, sizeof truth);
    out.insert(out.end(), bytes, bytes + sizeof truth);
}

}  // namespace

int main(int argc, char** argv) {
    const std::vector<std::string> words(argv + 1, argv + argc);
    if (words.size() < 4) {
        std::fprintf(stderr, "bentline_write_maps FROM TO FILE FONT…\n");
        return 2;
    }
    const int from = std::atoi(words[0].c_str());  // NOLINT
    const int to = std::atoi(words[1].c_str());    // NOLINT
    corpus::WideTakes takes(std::vector<std::string>(words.begin() + 3, words.end()));
    std::ofstream file(words[2], std::ios::binary | std::ios::app);
    for (int number = from; number < to; ++number) {
        const auto made = takes.make(number);
        if (!made) {
            std::fprintf(stderr, "%s\n", made.failure().sentence.c_str());
            continue;
        }
        const corpus::Take& take = made->take;
        const WorkingSignal sound =
            working_signal(take.audio, made->pointed ? take.focus : Focus{}, 0);
        const auto frames = static_cast<std::size_t>(take.audio.duration() / map_hop);
        const auto map = sound_map(sound, 0, frames, Work{});
        if (!map) return 1;
        std::vector<char> out;
        const auto rows_a_frame = static_cast<std::size_t>(std::lround(map_hop / corpus::row_step));
        for (std::size_t i = 0; i < frames; ++i) {
            const auto row =
                take.truth.rows.begin() +
                static_cast<std::ptrdiff_t>(std::min(i * rows_a_frame, take.truth.rows.size() - 1));
            float truth = -1.0F;
            if (*row) {
                truth = static_cast<float>((pitch_of(**row) - map_lowest) /
                                           Cents(100.0 / static_cast<double>(map_per_semitone)));
            }
            append(out, *map, i, truth);
        }
        out.insert(out.end(), map_planes * map_bins, 0);
        const float mark = -2.0F;
        char bytes[sizeof mark];
        std::memcpy(bytes, &mark, sizeof mark);
        out.insert(out.end(), bytes, bytes + sizeof mark);
        file.write(out.data(), static_cast<std::streamsize>(out.size()));
    }
    return file.good() ? 0 : 1;
}
