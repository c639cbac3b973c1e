# Warnings, hardening and sanitizers: the interface target fl_flags, which every target links.
include(CheckCCompilerFlag)
include(CheckPIESupported)
check_pie_supported(LANGUAGES C)

add_library(fl_flags INTERFACE)
target_compile_options(fl_flags INTERFACE $<$<COMPILE_LANGUAGE:C>:-ffp-contract=off>)
target_include_directories(fl_flags INTERFACE
  ${CMAKE_SOURCE_DIR}/src ${CMAKE_BINARY_DIR} ${CMAKE_BINARY_DIR}/generated)

function(fl_add_flag flag)
  string(MAKE_C_IDENTIFIER "FL_HAS${flag}" has)
  check_c_compiler_flag(${flag} ${has})
  if(${has})
    target_compile_options(fl_flags INTERFACE $<$<COMPILE_LANGUAGE:C>:${flag}>)
  endif()
endfunction()

foreach(flag
    -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -Wformat=2
    -Wstrict-prototypes -Wmissing-prototypes -Wundef -Wvla -Wwrite-strings -Wcast-qual
    -Wpointer-arith -Wswitch-enum -Wimplicit-fallthrough -Wnull-dereference
    -Wlogical-op -Wduplicated-cond -Wduplicated-branches -Wjump-misses-init
    -fstack-protector-strong -fstack-clash-protection)
  fl_add_flag(${flag})
endforeach()

if(CMAKE_C_COMPILER_ID STREQUAL "GNU")
  fl_add_flag(-Wdouble-promotion) # clang's version complains about the C library's own NAN
else()
  fl_add_flag(-Wno-string-conversion) # assert(!"a text that says why")
endif()

if(FL_WERROR)
  target_compile_options(fl_flags INTERFACE $<$<COMPILE_LANGUAGE:C>:-Werror>)
endif()

if(FL_SANITIZE)
  set(sanitize -fsanitize=address,undefined,float-cast-overflow -fno-sanitize-recover=all)
  target_compile_options(fl_flags INTERFACE $<$<COMPILE_LANGUAGE:C>:${sanitize}>)
  target_link_options(fl_flags INTERFACE ${sanitize})
elseif(FL_SANITIZE_THREADS)
  set(sanitize -fsanitize=thread)
  target_compile_options(fl_flags INTERFACE $<$<COMPILE_LANGUAGE:C>:${sanitize}>)
  target_link_options(fl_flags INTERFACE ${sanitize})
elseif(NOT CMAKE_BUILD_TYPE STREQUAL "Debug")
  target_compile_options(fl_flags INTERFACE
    $<$<COMPILE_LANGUAGE:C>:-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2>)
endif()
if(NOT APPLE)
  target_link_options(fl_flags INTERFACE -Wl,-z,relro,-z,now)
endif()

if(FL_FUZZ)
  target_compile_options(fl_flags INTERFACE $<$<COMPILE_LANGUAGE:C>:-fsanitize=fuzzer-no-link>)
endif()

# Functions that src/ may not call: declared deprecated in banned.h, and that warning is an error.
add_library(fl_banned INTERFACE)
target_compile_options(fl_banned INTERFACE
  "$<$<COMPILE_LANGUAGE:C>:SHELL:-include ${CMAKE_SOURCE_DIR}/src/base/banned.h>"
  $<$<COMPILE_LANGUAGE:C>:-Werror=deprecated-declarations>)
