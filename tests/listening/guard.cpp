// The C library's allocator and locks, taken over to count their calls on a guarded thread.
#include "tests/listening/guard.h"

#include <atomic>
#include <cstddef>

#include <dlfcn.h>
#include <pthread.h>
#include <semaphore.h>

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define BENTLINE_SANITIZED 1
#else
#define BENTLINE_SANITIZED 0
#endif

namespace {
thread_local bool guarded = false;
std::atomic<long> allocation_count{0};
std::atomic<long> lock_count{0};
}  // namespace

namespace bentline::test {
Guard::Guard() {
    guarded = true;
}
Guard::~Guard() {
    guarded = false;
}
bool Guard::counts() {
    return BENTLINE_SANITIZED == 0;
}
long Guard::allocations() {
    return allocation_count.load();
}
long Guard::locks() {
    return lock_count.load();
}
}  // namespace bentline::test

#if !BENTLINE_SANITIZED

namespace {
void count_allocation() {
    if (guarded) allocation_count.fetch_add(1);
}
template <class F>
F next(const char* name) {
    return reinterpret_cast<F>(dlsym(RTLD_NEXT, name));
}
}  // namespace

extern "C" {

void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void __libc_free(void*);
void* __libc_memalign(std::size_t, std::size_t);

void* malloc(std::size_t n) {
    count_allocation();
    return __libc_malloc(n);
}
void* calloc(std::size_t n, std::size_t m) {
    count_allocation();
    return __libc_calloc(n, m);
}
void* realloc(void* p, std::size_t n) {
    count_allocation();
    return __libc_realloc(p, n);
}
void free(void* p) {
    count_allocation();
    __libc_free(p);
}
void* aligned_alloc(std::size_t a, std::size_t n) {
    count_allocation();
    return __libc_memalign(a, n);
}

int pthread_mutex_lock(pthread_mutex_t* m) {
    static const auto real = next<int (*)(pthread_mutex_t*)>("pthread_mutex_lock");
    if (guarded) lock_count.fetch_add(1);
    return real(m);
}
int pthread_rwlock_rdlock(pthread_rwlock_t* l) {
    static const auto real = next<int (*)(pthread_rwlock_t*)>("pthread_rwlock_rdlock");
    if (guarded) lock_count.fetch_add(1);
    return real(l);
}
int pthread_rwlock_wrlock(pthread_rwlock_t* l) {
    static const auto real = next<int (*)(pthread_rwlock_t*)>("pthread_rwlock_wrlock");
    if (guarded) lock_count.fetch_add(1);
    return real(l);
}
int sem_wait(sem_t* s) {
    static const auto real = next<int (*)(sem_t*)>("sem_wait");
    if (guarded) lock_count.fetch_add(1);
    return real(s);
}

}  // extern "C"

#endif
