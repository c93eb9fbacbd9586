# Flags by kind of build, and the two functions by which rooms and programs are declared.
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

find_program(CAVIGRAM_CCACHE ccache)
if(CAVIGRAM_CCACHE AND PROJECT_IS_TOP_LEVEL AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_CXX_COMPILER_LAUNCHER "${CAVIGRAM_CCACHE}")
endif()

add_library(cavigram_flags INTERFACE)
target_compile_features(cavigram_flags INTERFACE cxx_std_20)
# -ffp-contract=off: without it the compiler may fuse a*b+c differently from one build to the next,
# and equal inputs would no longer give equal bytes.
target_compile_options(cavigram_flags INTERFACE
  -ffp-contract=off -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor -Woverloaded-virtual)
if(CAVIGRAM_WERROR)
  target_compile_options(cavigram_flags INTERFACE -Werror)
endif()
if(CAVIGRAM_KIND STREQUAL "release")
  target_compile_options(cavigram_flags INTERFACE -O2)
  target_compile_definitions(cavigram_flags INTERFACE NDEBUG)
elseif(CAVIGRAM_KIND STREQUAL "dev")
  target_compile_options(cavigram_flags INTERFACE -O0 -g)
elseif(CAVIGRAM_KIND STREQUAL "asan")
  # -g1: line tables are all that a report needs. Instrumented code makes g++ 12 warn of variables
  # that are never read uninitialized.
  target_compile_options(cavigram_flags INTERFACE -O1 -g1 -fno-omit-frame-pointer
                         -fsanitize=address,undefined -fno-sanitize-recover=all
                         -Wno-maybe-uninitialized)
  target_link_options(cavigram_flags INTERFACE -fsanitize=address,undefined)
elseif(CAVIGRAM_KIND STREQUAL "tsan")
  target_compile_options(cavigram_flags INTERFACE -O1 -g1 -fsanitize=thread
                         -Wno-maybe-uninitialized)
  target_link_options(cavigram_flags INTERFACE -fsanitize=thread)
elseif(CAVIGRAM_KIND STREQUAL "coverage")
  target_compile_options(cavigram_flags INTERFACE -O0 -g --coverage)
  # For tests, which then go through a share of their long lists (tests/support/sanitized.h).
  target_compile_definitions(cavigram_flags INTERFACE CAVIGRAM_COVERAGE)
  target_link_options(cavigram_flags INTERFACE --coverage)
elseif(CAVIGRAM_KIND STREQUAL "fuzz")
  if(NOT CMAKE_CXX_COMPILER_ID STREQUAL "Clang")
    message(FATAL_ERROR "The kind fuzz needs clang, which has libFuzzer: tests/fuzz/run.sh configures it so.")
  endif()
  # Assertions stay alive: a broken one is found as a crash is. Warnings are g++'s business.
  target_compile_options(cavigram_flags INTERFACE -O1 -g1 -fno-omit-frame-pointer -w
                         -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all)
  target_link_options(cavigram_flags INTERFACE -fsanitize=address,undefined)
else()
  message(FATAL_ERROR "CAVIGRAM_KIND is '${CAVIGRAM_KIND}'; choose release, dev, asan, tsan, coverage or fuzz.")
endif()

set_property(GLOBAL PROPERTY CAVIGRAM_ROOMS "")

# cavigram_room(NAME SOURCES a.cpp ... [ROOMS core geom ...] [PRIVATE third::party ...])
# Declares one room: a static library cavigram_NAME (alias cavigram::NAME), its public neighbors and
# the third parties that only its .cpp files see.
function(cavigram_room NAME)
  cmake_parse_arguments(ROOM "" "" "SOURCES;ROOMS;PRIVATE" ${ARGN})
  set(target "cavigram_${NAME}")
  add_library(${target} STATIC ${ROOM_SOURCES})
  add_library(cavigram::${NAME} ALIAS ${target})
  set_target_properties(${target} PROPERTIES EXPORT_NAME ${NAME} POSITION_INDEPENDENT_CODE ON)
  target_compile_features(${target} PUBLIC cxx_std_20)
  target_include_directories(${target} PUBLIC
    "$<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}/lib>" "$<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>")
  target_link_libraries(${target} PRIVATE $<BUILD_INTERFACE:cavigram_flags>)
  foreach(neighbor IN LISTS ROOM_ROOMS)
    target_link_libraries(${target} PUBLIC cavigram_${neighbor})
  endforeach()
  # Every room words its own errors.
  target_link_libraries(${target} PRIVATE fmt::fmt)
  if(ROOM_PRIVATE)
    target_link_libraries(${target} PRIVATE ${ROOM_PRIVATE})
  endif()
  set_property(GLOBAL APPEND PROPERTY CAVIGRAM_ROOMS ${NAME})
  # Where the time goes: a large part takes a tenth less of it than at -O2, with the same bytes. In
  # position-independent code nothing is inlined that another library might replace: nobody replaces
  # ours. The warning is wrong about strings that are put together (g++ 12).
  if(CAVIGRAM_KIND STREQUAL "release" AND NAME MATCHES "^(geom|spatial|measure|cavity|venting|molding|pour)$")
    set_source_files_properties(${ROOM_SOURCES} PROPERTIES COMPILE_OPTIONS
      "-O3;-fno-semantic-interposition;$<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>")
  endif()
endfunction()

# cavigram_program(NAME SOURCES a.cpp ... [LINK target ...])
function(cavigram_program NAME)
  cmake_parse_arguments(PROGRAM "" "" "SOURCES;LINK" ${ARGN})
  add_executable(${NAME} ${PROGRAM_SOURCES})
  target_link_libraries(${NAME} PRIVATE cavigram_flags fmt::fmt ${PROGRAM_LINK})
endfunction()
