// A lock-free queue from exactly one thread to exactly one other, of fixed size.
#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <optional>

namespace bentline {

// T: trivially copyable. push() by one thread, pop() by one other; neither waits nor allocates. A
// classic ring with two counters (Lamport 1983). [any]
template <class T, std::size_t Size>
class SpscQueue {
  public:
    // False when full.
    bool push(const T& item) {
        const std::size_t at = pushed_.load(std::memory_order_relaxed);
        if (at - popped_.load(std::memory_order_acquire) == Size) return false;
        items_[at % Size] = item;
        pushed_.store(at + 1, std::memory_order_release);
        return true;
    }
    std::optional<T> pop() {
        const std::size_t at = popped_.load(std::memory_order_relaxed);
        if (at == pushed_.load(std::memory_order_acquire)) return std::nullopt;
        const T item = items_[at % Size];
        popped_.store(at + 1, std::memory_order_release);
        return item;
    }

  private:
    std::array<T, Size> items_{};
    std::atomic<std::size_t> pushed_{0};
    std::atomic<std::size_t> popped_{0};
};

}  // namespace bentline
