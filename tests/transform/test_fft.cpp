// transform: the FFT against the definition of the DFT, windows against Harris (1978).
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <random>

#include <doctest/doctest.h>

#include "engine/transform/eight_ffts.h"
#include "engine/transform/fft.h"

using namespace bentline;

TEST_CASE("transform: forward equals the DFT's definition summed in double") {
    for (const std::size_t n : {16U, 60U, 250U}) {
        std::mt19937 rng(7);
        std::uniform_real_distribution<float> u(-1.0F, 1.0F);
        std::vector<float> x(n);
        for (float& v : x)
            v = u(rng);
        RealFft fft(n);
        std::vector<std::complex<float>> got(fft.bins());
        fft.forward(x, got);
        for (std::size_t k = 0; k < fft.bins(); ++k) {
            std::complex<double> want = 0.0;
            for (std::size_t i = 0; i < n; ++i) {
                const double angle = -2.0 * std::numbers::pi * static_cast<double>(k * i % n) /
                                     static_cast<double>(n);
                want += static_cast<double>(x[i]) * std::polar(1.0, angle);
            }
            // Float rounding grows with log2(n) steps of sums up to n: 1e-5 * n is generous.
            CHECK(std::abs(std::complex<double>(got[k]) - want) < 1e-5 * static_cast<double>(n));
        }
        std::vector<float> back(n);
        fft.inverse(got, back);
        for (std::size_t i = 0; i < n; ++i)
            CHECK(back[i] == doctest::Approx(x[i]).epsilon(1e-4));
    }
}

TEST_CASE("transform: each of eight side by side equals the DFT's definition summed in double") {
    // All radices alone and together; 1024 and 2160 are the tracker's sizes.
    for (const std::size_t n : {2U, 4U, 6U, 8U, 10U, 16U, 60U, 250U, 1024U, 2160U}) {
        std::mt19937 rng(11);
        std::uniform_real_distribution<float> u(-1.0F, 1.0F);
        std::vector<float> x(n * lanes);
        for (std::size_t i = 0; i < x.size(); ++i)
            x[i] = static_cast<float>(i % lanes + 1) * u(rng);
        EightFfts fft(n);
        std::vector<float> real(fft.bins() * lanes);
        std::vector<float> imaginary(fft.bins() * lanes);
        fft.forward(x, real, imaginary);
        double worst = 0.0;
        for (std::size_t k = 0; k < lanes; ++k) {
            double squares = 0.0;
            for (std::size_t i = 0; i < n; ++i)
                squares += std::pow(static_cast<double>(x[lanes * i + k]), 2.0);
            for (std::size_t b = 0; b<fft.bins(); b += n> 300 ? 37 : 1) {
                std::complex<double> want = 0.0;
                for (std::size_t i = 0; i < n; ++i) {
                    const double angle = -2.0 * std::numbers::pi * static_cast<double>(b * i % n) /
                                         static_cast<double>(n);
                    want += static_cast<double>(x[lanes * i + k]) * std::polar(1.0, angle);
                }
                const std::complex<double> got(static_cast<double>(real[lanes * b + k]),
                                               static_cast<double>(imaginary[lanes * b + k]));
                worst = std::max(worst, std::abs(got - want) / std::sqrt(squares));
            }
        }
        CAPTURE(n);
        CHECK(worst < eight_ffts_error);
    }
}

TEST_CASE("transform: stretches are cut under their window, silence beyond the signal's ends") {
    EightFfts fft(8);
    std::vector<float> signal(20);
    for (std::size_t i = 0; i < signal.size(); ++i)
        signal[i] = static_cast<float>(i + 1);
    const std::vector<float> window{1.0F, 2.0F, 3.0F, 4.0F, 5.0F, 6.0F, 7.0F, 8.0F};
    const std::array<std::ptrdiff_t, lanes> from{0, 5, 12, 13, -3, -8, 19, 40};
    std::vector<float> rows(8 * lanes, -1.0F);
    fft.cut(signal, from, window, rows);
    for (std::size_t k = 0; k < lanes; ++k) {
        for (std::size_t i = 0; i < 8; ++i) {
            const std::ptrdiff_t at = from[k] + static_cast<std::ptrdiff_t>(i);
            // Sample number `at` counts at + 1.
            const float sample = at >= 0 && at < 20 ? static_cast<float>(at + 1) : 0.0F;
            CHECK(rows[lanes * i + k] == sample * window[i]);
        }
    }
}

TEST_CASE("transform: the lowest bins alone are the same bins") {
    EightFfts fft(60);
    std::vector<float> in(fft.size() * lanes);
    for (std::size_t i = 0; i < in.size(); ++i)
        in[i] = static_cast<float>((i * i) % 17) - 8.0F;
    std::vector<float> re(fft.bins() * lanes);
    std::vector<float> im(re.size());
    fft.forward(in, re, im);
    std::vector<float> few_re(11 * lanes);
    std::vector<float> few_im(few_re.size());
    fft.forward(in, few_re, few_im);
    CHECK(std::equal(few_re.begin(), few_re.end(), re.begin()));
    CHECK(std::equal(few_im.begin(), few_im.end(), im.begin()));
}

TEST_CASE("transform: the greatest of rows of eight, each lane by itself, never under 0") {
    std::array<float, 4 * lanes> rows{};
    for (std::size_t k = 0; k < 4; ++k) {
        for (std::size_t i = 0; i < lanes; ++i)
            rows[lanes * k + i] = (k == i % 4 ? 10.0F : -1.0F) + static_cast<float>(i);
    }
    std::array<float, lanes> top{};
    greatest_row(rows.data(), 1, 3, top.data());
    // In rows 1 and 2 the lanes of their own numbers and those four on have 10 more.
    CHECK(top == std::array<float, lanes>{0, 11, 12, 2, 3, 15, 16, 6});
    greatest_row(rows.data(), 1, 1, top.data());
    CHECK(top == std::array<float, lanes>{});
}

TEST_CASE("transform: equivalent noise bandwidth and scalloping loss [Harris 1978, table 1]") {
    struct Row {
        Window kind;
        double noise_bandwidth_bins;
        double scalloping_db;
    };
    const Row rows[] = {{Window::rectangular, 1.000, 3.922},
                        {Window::hann, 1.500, 1.424},
                        {Window::hamming, 1.363, 1.751},
                        {Window::blackman, 1.727, 1.099},
                        {Window::blackman_harris, 2.004, 0.826}};
    const std::size_t n = 4096;
    for (const Row& row : rows) {
        const std::vector<float> w = make_window(row.kind, n);
        double sum = 0.0;
        double squares = 0.0;
        std::complex<double> half_bin = 0.0;
        for (std::size_t i = 0; i < n; ++i) {
            sum += w[i];
            squares += static_cast<double>(w[i]) * w[i];
            half_bin += static_cast<double>(w[i]) *
                        std::polar(1.0, -std::numbers::pi * static_cast<double>(i) / double(n));
        }
        CHECK(std::abs(static_cast<double>(n) * squares / (sum * sum) - row.noise_bandwidth_bins) <
              0.0006);  // the table's last digit
        CHECK(std::abs(-20.0 * std::log10(std::abs(half_bin) / sum) - row.scalloping_db) < 0.0006);
    }
}

TEST_CASE("transform: good sizes are even products of 2, 3 and 5, and the next one up") {
    CHECK(good_fft_size(1) == 2);
    CHECK(good_fft_size(7) == 8);
    CHECK(good_fft_size(1023) == 1024);
    CHECK(good_fft_size(1025) == 1080);
    CHECK(good_fft_size(4097) == 4320);
}
