// Plays a loop for an hour as heard, faster than real time, and checks every seam by correlation.
//
//     loop_hour [minutes] [speed]     60 minutes at half speed by default
//
// The loop is a second of two held tones, clicks and a noise floor at -60 dBFS; each seam, a tenth
// of a second before to a tenth after, is compared with the one before at the place where it must
// lie to the frame, and the place of the click on it with the first one's. Ends with 1 when two
// neighbours correlate below 0.99 or a click lies more than 0.1 ms from where it lay at first.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <numbers>
#include <vector>

#include "engine/listening/player_core.h"
#include "tests/listening/loop_music.h"

namespace {

using namespace bentline;

constexpr SampleRate cd{44100};
constexpr std::size_t block = 256;

double correlation(const std::vector<float>& x, const std::vector<float>& y) {
    double xy = 0.0, xx = 1e-12, yy = 1e-12;
    for (std::size_t i = 0; i < x.size(); ++i) {
        xy += static_cast<double>(x[i]) * y[i];
        xx += static_cast<double>(x[i]) * x[i];
        yy += static_cast<double>(y[i]) * y[i];
    }
    return xy / std::sqrt(xx * yy);
}

// Where the sound leaps most: the click's first frames.
std::ptrdiff_t click(const std::vector<float>& x) {
    std::ptrdiff_t at = 0;
    float most = 0.0F;
    for (std::size_t i = 1; i < x.size(); ++i) {
        if (std::abs(x[i] - x[i - 1]) <= most) continue;
        most = std::abs(x[i] - x[i - 1]);
        at = static_cast<std::ptrdiff_t>(i);
    }
    return at;
}

}  // namespace

int main(int argc, char** argv) {
    const double minutes = argc > 1 ? std::atof(argv[1]) : 60.0;
    const double speed = argc > 2 ? std::atof(argv[2]) : 0.5;
    PlayerCore core(cd);
    core.load(std::make_shared<const Audio>(test::loop_music(0.001)));
    core.loop({Frames(22050), Frames(22050 + 44100)});
    core.speed(speed);
    core.play();
    const double round = 44100.0 / speed;
    const std::size_t reach = 4410;
    std::vector<float> recent;  // from frame `base` on
    std::size_t base = 0;
    std::vector<float> last;
    std::ptrdiff_t first_click = 0;
    std::ptrdiff_t furthest = 0;
    double worst = 1.0;
    long seams = 0;
    std::int64_t next = 2;  // the first rounds settle
    const auto total = static_cast<std::size_t>(minutes * 60.0 * 44100.0);
    std::array<float, block> l{};
    std::array<float, block> r{};
    const std::array<float*, 2> out = {l.data(), r.data()};
    for (std::size_t done = 0; done < total; done += block) {
        core.process(out, block);
        recent.insert(recent.end(), l.begin(), l.end());
        const auto seam = static_cast<std::size_t>(std::llround(static_cast<double>(next) * round));
        if (done + block < seam + reach) continue;
        const auto at = static_cast<std::ptrdiff_t>(seam - reach - base);
        const std::vector<float> here(recent.begin() + at,
                                      recent.begin() + at + 2 * static_cast<std::ptrdiff_t>(reach));
        if (last.empty())
            first_click = click(here);
        else
            worst = std::min(worst, correlation(last, here));
        furthest = std::max(furthest, std::abs(click(here) - first_click));
        last = here;
        ++seams;
        ++next;
        recent.erase(recent.begin(), recent.begin() + at);
        base += static_cast<std::size_t>(at);
    }
    const PlayerStatus s = core.status();
    std::printf(
        "%.0f minutes heard, %lld rounds, %ld seams, worst correlation of two "
        "neighbours %.5f, clicks within %td frames, %.1f s of CPU\n",
        minutes, static_cast<long long>(s.round), seams, worst, furthest,
        static_cast<double>(std::clock()) / CLOCKS_PER_SEC);
    return worst > 0.99 && furthest <= 4 ? 0 : 1;
}
