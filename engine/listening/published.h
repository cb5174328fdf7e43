// A value published by one thread and read by any other without waiting for it.
#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <type_traits>

namespace bentline {

// A sequence lock over atomic words (Boehm 2012, "Can seqlocks get along with programming language
// memory models?"): the writer never waits, a reader tries again when it was overtaken.
template <class T>
class Published {
    static_assert(std::is_trivially_copyable_v<T>);

  public:
    void publish(const T& value) {  // one thread only
        std::array<std::uint64_t, words> raw{};
        std::memcpy(raw.data(), &value, sizeof(T));
        const std::uint64_t n = sequence_.load(std::memory_order_relaxed);
        sequence_.store(n + 1, std::memory_order_relaxed);
        for (std::size_t i = 0; i < words; ++i)
            words_[i].store(raw[i], std::memory_order_release);
        sequence_.store(n + 2, std::memory_order_release);
    }
    T read() const {
        for (;;) {
            const std::uint64_t before = sequence_.load(std::memory_order_acquire);
            if (before % 2 != 0) continue;
            std::array<std::uint64_t, words> raw{};
            for (std::size_t i = 0; i < words; ++i)
                raw[i] = words_[i].load(std::memory_order_acquire);
            if (sequence_.load(std::memory_order_relaxed) != before) continue;
            T value;
            std::memcpy(static_cast<void*>(&value), raw.data(), sizeof(T));
            return value;
        }
    }

  private:
    static constexpr std::size_t words = (sizeof(T) + 7) / 8;
    std::array<std::atomic<std::uint64_t>, words> words_{};
    std::atomic<std::uint64_t> sequence_{0};
};

}  // namespace bentline
