#include "tests/corpus/along_line.h"

#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>

namespace bentline::corpus {

std::vector<double> errors_along(const Sounded& s, SampleRate rate) {
    const std::size_t size = s.samples.size();
    std::vector<double> phase(size);
    double at = 0.0;
    for (std::size_t i = 0; i < size; ++i) {
        phase[i] = at;
        at += 2.0 * std::numbers::pi *
              frequency(s.pitch[i / static_cast<std::size_t>(pitch_block)]).value() / rate.value();
    }
    const std::size_t width = 2205;
    const std::size_t hop = 882;
    const auto turned_back = [&](std::size_t from, int partial) {
        std::complex<double> sum = 0.0;
        for (std::size_t i = from; i < from + width; ++i) {
            const double w =
                1.0 - std::cos(2.0 * std::numbers::pi * static_cast<double>(i - from) / width);
            sum += w * static_cast<double>(s.samples[i]) * std::polar(1.0, -partial * phase[i]);
        }
        return sum;
    };
    std::vector<double> errors;
    const auto begin = static_cast<std::size_t>(s.pluck.value()) + 441;
    for (std::size_t from = begin; from + hop + width < size; from += hop) {
        double sum = 0.0;
        double weight = 0.0;
        const double f = frequency(s.pitch[(from + width / 2) / pitch_block]).value();
        for (int k = 1; k <= 5; ++k) {
            const auto a = turned_back(from, k);
            const auto b = turned_back(from + hop, k);
            const double turn =
                std::arg(b * std::conj(a)) / (2.0 * std::numbers::pi * hop / rate.value());
            const double w = k * k * std::norm(b);
            sum += w * 1200.0 * std::log2(1.0 + turn / (k * f));
            weight += w;
        }
        errors.push_back(weight > 0.0 ? sum / weight : 0.0);
    }
    return errors;
}

}  // namespace bentline::corpus
