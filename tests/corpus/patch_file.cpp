#include "tests/corpus/patch_file.h"

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <fstream>
#include <iterator>
#include <string>

namespace bentline::corpus {

namespace {

constexpr std::size_t file_header = 129;
constexpr std::size_t instrument_header = 63;
constexpr std::size_t layer_header = 47;
constexpr std::size_t tone_header = 96;
// Of a tone's modes.
constexpr unsigned sixteen_bits = 1;
constexpr unsigned no_sign = 2;
constexpr unsigned looped = 4;
constexpr unsigned backwards = 8 | 16;

class Bytes {
  public:
    explicit Bytes(std::vector<char> bytes) : bytes_(std::move(bytes)) {}
    std::size_t size() const { return bytes_.size(); }
    // Little-endian, of `width` bytes.
    std::uint32_t number(std::size_t at, std::size_t width) const {
        std::uint32_t n = 0;
        for (std::size_t i = 0; i < width; ++i)
            n |= static_cast<std::uint32_t>(static_cast<std::uint8_t>(bytes_[at + i])) << (8 * i);
        return n;
    }

  private:
    std::vector<char> bytes_;
};

}  // namespace

Result<std::vector<RecordedTone>> read_patch(const std::filesystem::path& file) {
    const auto fail = [&](const std::string& why) {
        return Failure{FailureKind::damaged, file.string() + ": " + why, {file, {}, {}}};
    };
    std::ifstream in(file, std::ios::binary);
    if (!in) {
        return Failure{FailureKind::not_found,
                       file.string() + " is not there: run third_party/install.sh test",
                       {file, {}, {}}};
    }
    const Bytes bytes(std::vector<char>(std::istreambuf_iterator<char>(in), {}));
    std::size_t at = file_header + instrument_header + layer_header;
    if (bytes.size() < at) return fail("too short for a patch");
    const std::uint32_t count = bytes.number(at - layer_header + 6, 1);
    std::vector<RecordedTone> tones;
    for (std::uint32_t n = 0; n < count; ++n) {
        if (bytes.size() < at + tone_header) return fail("a tone's header is cut off");
        const std::uint32_t size = bytes.number(at + 8, 4);
        const std::uint32_t modes = bytes.number(at + 55, 1);
        if ((modes & sixteen_bits) == 0 || (modes & (no_sign | backwards)) != 0)
            return fail("a tone of another kind than 16 bits, forwards");
        if (bytes.size() < at + tone_header + size) return fail("a tone is cut off");
        RecordedTone tone;
        tone.rate = bytes.number(at + 20, 2);
        const Hertz root(bytes.number(at + 30, 4) / 1000.0);  // stored in thousandths
        if (tone.rate < 4000.0 || root < Hertz(20.0)) return fail("a tone without rate or pitch");
        tone.key = nearest_key(pitch_of(root));
        for (std::size_t i = 0; i + 1 < size; i += 2) {
            const auto v = static_cast<std::int16_t>(bytes.number(at + tone_header + i, 2));
            tone.samples.push_back(static_cast<float>(v) / 32768.0F);
        }
        if (modes & looped) {
            tone.loop_from = bytes.number(at + 12, 4) / 2;
            tone.loop_to = bytes.number(at + 16, 4) / 2;
            if (tone.loop_to > tone.samples.size()) return fail("a loop beyond its tone");
        }
        tones.push_back(std::move(tone));
        at += tone_header + size;
    }
    if (tones.empty()) return fail("no tones");
    return tones;
}

}  // namespace bentline::corpus
