// A full disk, and a folder's contents counted.
#pragma once

#include <csignal>
#include <cstddef>
#include <filesystem>

#include <sys/resource.h>

namespace bentline::testing {

inline std::size_t entries(const std::filesystem::path& folder) {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder),
                                                  std::filesystem::directory_iterator()));
}

// While it lives, no file of this process can grow past `bytes`: a stand-in for a full disk that
// the system treats alike (write(2) writes less, then fails).
class SmallDisk {
  public:
    explicit SmallDisk(rlim_t bytes) {
        previous_ = std::signal(SIGXFSZ, SIG_IGN);
        ::getrlimit(RLIMIT_FSIZE, &old_);
        const rlimit small{bytes, old_.rlim_max};
        ::setrlimit(RLIMIT_FSIZE, &small);
    }
    ~SmallDisk() {
        ::setrlimit(RLIMIT_FSIZE, &old_);
        std::signal(SIGXFSZ, previous_);
    }
    SmallDisk(const SmallDisk&) = delete;
    SmallDisk& operator=(const SmallDisk&) = delete;

  private:
    rlimit old_{};
    void (*previous_)(int) = nullptr;
};

}  // namespace bentline::testing
