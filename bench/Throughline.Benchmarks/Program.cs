using BenchmarkDotNet.Running;
using Throughline.Benchmarks;

BenchmarkSwitcher.FromAssembly(typeof(CheckBenchmarks).Assembly).Run(args);
