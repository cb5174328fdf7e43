# Finds what third_party/install.sh installs. Each library is an imported target, linked only by the
# folder that is allowed to know it (third_party/README.md says which and why).
find_package(PkgConfig REQUIRED)
find_package(Threads REQUIRED)

pkg_check_modules(sndfile REQUIRED IMPORTED_TARGET sndfile)
pkg_check_modules(vorbisfile REQUIRED IMPORTED_TARGET vorbisfile)
pkg_check_modules(mpg123 REQUIRED IMPORTED_TARGET libmpg123)
pkg_check_modules(ebur128 REQUIRED IMPORTED_TARGET libebur128)
pkg_check_modules(kissfft REQUIRED IMPORTED_TARGET kissfft-float)
pkg_check_modules(portaudio REQUIRED IMPORTED_TARGET portaudio-2.0)
pkg_check_modules(imgui REQUIRED IMPORTED_TARGET imgui)
pkg_check_modules(glfw REQUIRED IMPORTED_TARGET glfw3)
pkg_check_modules(pugixml REQUIRED IMPORTED_TARGET pugixml)
pkg_check_modules(libzip REQUIRED IMPORTED_TARGET libzip)
pkg_check_modules(png REQUIRED IMPORTED_TARGET libpng)
pkg_check_modules(cairo REQUIRED IMPORTED_TARGET cairo-ft cairo-pdf cairo-svg)
pkg_check_modules(freetype REQUIRED IMPORTED_TARGET freetype2)
# For one test only, which is left out without it.
pkg_check_modules(x11 IMPORTED_TARGET x11)
find_package(nlohmann_json REQUIRED)
find_package(CLI11 REQUIRED)
find_package(OpenGL REQUIRED COMPONENTS OpenGL)
