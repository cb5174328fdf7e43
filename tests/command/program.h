// Runs the built program as a user would, in a folder of its own.
#pragma once

#include <filesystem>
#include <string>

#include "engine/recording/audio.h"
#include "tests/support/folder.h"

namespace bentline::testing {

struct Outcome {
    int code = -1;
    std::string out;
    std::string err;
    int error_lines() const;
};

// A fresh temporary folder that goes away with the object. Programs run inside it.
class Workplace {
  public:
    std::filesystem::path path(const std::string& name) const { return folder_ / name; }
    // Runs `bentline ARGUMENTS` through the shell, with the folder as the working folder.
    Outcome run(const std::string& arguments) const;
    std::string text_of(const std::string& name) const;
    void write(const std::string& name, const std::string& text) const;
    void write_wav(const std::string& name, const Audio& audio) const;
    std::size_t files() const;

  private:
    Folder folder_{"command"};
};

}  // namespace bentline::testing
