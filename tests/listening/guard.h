// Counts what an audio callback must not do: allocate, free, or take a lock.
#pragma once

namespace bentline::test {

// While one of these lives, allocations and locks of this thread are counted. Counting works by
// taking the C library's functions over, which a sanitizer does itself: built with one, counts()
// says no and nothing is counted.
class Guard {
  public:
    Guard();
    ~Guard();
    Guard(const Guard&) = delete;
    Guard& operator=(const Guard&) = delete;

    static bool counts();
    static long
    allocations();        // malloc, calloc, realloc, aligned ones, free; since the program began
    static long locks();  // pthread_mutex_lock, pthread_rwlock_*lock, sem_wait
};

}  // namespace bentline::test
