# islebook_library(NAME SOURCES a.cc b.cc DEPENDS x y PRIVATE_DEPENDS z)
#   One folder, one library. Headers are included by their path from the repository root.
# islebook_test(NAME [SERVER] SOURCES a_test.cc DEPENDS x)
#   One GoogleTest program; its tests appear in ctest as folder/name. SERVER: those named .../server need a server and appear as one.

if(NOT CMAKE_CXX_COMPILER_LAUNCHER)
  find_program(ISLEBOOK_CCACHE ccache)
  if(ISLEBOOK_CCACHE)
    set(CMAKE_CXX_COMPILER_LAUNCHER ${ISLEBOOK_CCACHE})
    set(CMAKE_C_COMPILER_LAUNCHER ${ISLEBOOK_CCACHE})
  endif()
endif()

add_library(islebook_flags INTERFACE)
target_compile_features(islebook_flags INTERFACE cxx_std_23)
target_include_directories(islebook_flags INTERFACE $<BUILD_INTERFACE:${CMAKE_SOURCE_DIR}> $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}/islebook>)
target_compile_options(islebook_flags INTERFACE
  $<BUILD_INTERFACE:$<$<COMPILE_LANGUAGE:CXX>:-Wall -Wextra -Wpedantic -Wshadow -Wno-missing-field-initializers>>
  $<BUILD_INTERFACE:$<$<COMPILE_LANG_AND_ID:CXX,GNU>:-Wno-restrict>>)  # g++ 12 warns falsely of "..." + string

# Under a sanitizer, libraries need its runtime in whoever loads them, and memory is no measure: some tests of the doors stand back then.
if(CMAKE_CXX_FLAGS MATCHES "-fsanitize=")
  set(ISLEBOOK_SANITIZED 1)
else()
  set(ISLEBOOK_SANITIZED 0)
endif()

function(islebook_library name)
  cmake_parse_arguments(ARG "" "" "SOURCES;DEPENDS;PRIVATE_DEPENDS" ${ARGN})
  add_library(${name} STATIC ${ARG_SOURCES})
  target_link_libraries(${name} PUBLIC islebook_flags ${ARG_DEPENDS} PRIVATE ${ARG_PRIVATE_DEPENDS})
endfunction()

function(islebook_test name)
  cmake_parse_arguments(ARG "SERVER" "" "SOURCES;DEPENDS;LABELS" ${ARGN})
  add_executable(${name} ${ARG_SOURCES})
  target_link_libraries(${name} PRIVATE islebook_flags ${ARG_DEPENDS} GTest::gtest_main GTest::gmock)
  target_compile_definitions(${name} PRIVATE ISLEBOOK_SOURCE_DIR="${CMAKE_SOURCE_DIR}"
    ISLEBOOK_SHARED_DIR="${CMAKE_SOURCE_DIR}/../shared" ISLEBOOK_BIN_DIR="${CMAKE_RUNTIME_OUTPUT_DIRECTORY}")
  set_target_properties(${name} PROPERTIES RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/tests)
  file(RELATIVE_PATH folder ${CMAKE_SOURCE_DIR}/tests ${CMAKE_CURRENT_SOURCE_DIR})
  if(NOT ARG_LABELS)
    set(ARG_LABELS unit)
  endif()
  set(filter "")
  if(ARG_SERVER)
    # The tests that need a server run in one program, because starting one takes seconds.
    set(filter TEST_FILTER "-*/server")
    add_test(NAME ${folder}/${name}OnServer COMMAND ${name} --gtest_filter=*/server --gtest_brief=1)
    set_tests_properties(${folder}/${name}OnServer PROPERTIES LABELS "${ARG_LABELS}" TIMEOUT 600 SKIP_REGULAR_EXPRESSION "no PostgreSQL server is installed")
  endif()
  # Listed when built, so that a second run of ctest starts at once.
  gtest_discover_tests(${name} ${filter} TEST_PREFIX "${folder}/" DISCOVERY_MODE POST_BUILD DISCOVERY_TIMEOUT 120 PROPERTIES LABELS "${ARG_LABELS}" TIMEOUT 600)
endfunction()
