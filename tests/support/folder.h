// A folder of a test's own.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <stdexcept>
#include <string>
#include <system_error>

namespace bentline::testing {

// Under a name that no other test, and no other run of this one, has; it goes when the object goes.
// `name` tells whose it was where a killed test left it behind.
class Folder {
  public:
    explicit Folder(const std::string& name = "test") {
        std::string pattern =
            (std::filesystem::temp_directory_path() / ("bentline_" + name + "_XXXXXX")).string();
        if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
        path_ = pattern;
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
    const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

}  // namespace bentline::testing
