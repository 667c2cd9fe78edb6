// Package messages holds the message-level twin of the simulator: a second
// program in which every router is a machine of its own. It gets an input, it
// gives effects, and knows of the others only what their LSPs have told it. LSPs
// go hop by hop over adjacencies and are acknowledged, sent again and queued on
// each interface (after ISO/IEC 10589); every router keeps its own database, runs
// its own shortest paths over it, and has its own timers. Traffic is walked path
// by path.
//
// It is test code only (this file apart), shares nothing with the engine but the
// description of the world, and is not made to be fast. Its tests hold the engine
// to it: where nothing changes while an LSP is on its way both give the same
// instants and the same lost shares; where something does, or where queues and
// losses are on, the difference is measured and printed. It was written without
// sight of the engine's control plane.
package messages
