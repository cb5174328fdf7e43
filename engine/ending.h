// What the name of a file ends in. [any]
#pragma once

#include <filesystem>
#include <string>

namespace bentline {

// ".html" of "L.HTML": with its dot, A to Z as small letters; empty where there is none.
std::string small_ending(const std::filesystem::path& file);

}  // namespace bentline
