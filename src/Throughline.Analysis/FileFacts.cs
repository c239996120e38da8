using System.Collections.Immutable;
using Throughline.Instruments;
namespace Throughline.Analysis;
internal sealed record Fact(string Path, string Text, SourceSpan Span);
internal static class FileFacts { public static ImmutableArray<Fact> Of(SourceText s) => []; }
